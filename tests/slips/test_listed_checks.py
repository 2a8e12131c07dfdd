"""Production's OK as corrected may list a check at stop, alone or beside lines."""

import pytest
from django.test import Client
from django.urls import reverse

from board.books.rules import STAGES, Stage, Standing
from board.checks.models import CheckRun
from board.checks.queries import at_final
from board.errors import WrongMove
from board.revisions.models import Revision
from board.slips.actions import stages
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import stage_of
from board.slips.queries.waiting import waiting_for
from tests import make
from tests.slips.conftest import Table

SHORT = {"check": "bleed", "figure": "right edge, 2.0 mm short", "level": "stop"}


def _checked(on: Revision, *findings: dict[str, str]) -> None:
    CheckRun.objects.create(
        revision=on,
        recipe="told",
        work=CheckRun.State.DONE,
        asked_at=make.NOW,
        findings=[{**found, "says": ""} for found in findings],
    )


@pytest.fixture
def final(table: Table) -> Table:
    """The spread at final, its picture 2 mm short at the right edge."""
    for stage in STAGES[:-1]:
        make.at(table.item, stage, Standing.OK)
    make.at(table.item, Stage.FINAL, Standing.AT_THE_TABLE)
    new = make.revision(of=table.item, by=table.cast.illustrator, stage=Stage.FINAL)
    by = table.cast.illustrator
    table.revision = stages.send_up(by=by, revision=new, event=make.event())
    _checked(table.revision, SHORT)
    return table


def _production(table: Table, *checks: str, facet: str = "press") -> Initial:
    by = table.cast.production if facet == "press" else table.cast.designer
    return table.initial(by, facet, checks=checks)


def test_a_check_at_stop_alone_is_enough_to_list(final: Table) -> None:
    (stop,) = at_final([final.item])[final.item.pk].stops
    given = _production(final, stop)
    assert given.kind == Initial.Kind.AS_CORRECTED
    for facet in ("clearance", "fit", "story", "art", "words"):
        by = {"clearance": "rights", "fit": "designer", "story": "editor",
              "art": "art_director", "words": "author"}[facet]  # fmt: skip
        final.initial(getattr(final.cast, by), facet)
    assert final.standing == Standing.OK_AS_CORRECTED
    wanted = [one.why for one in waiting_for(final.cast.illustrator)]
    assert wanted == ["small corrections are listed"]
    new = make.revision(
        of=final.item, by=final.cast.illustrator, stage=Stage.FINAL
    )  # the listed thing is done: everybody but rights looks again
    stages.send_up(by=final.cast.illustrator, revision=new, event=make.event())
    row = stage_of(final.item.__class__.objects.get(pk=final.item.pk))
    assert row is not None
    assert row.standing == Standing.HUNG


def test_only_production_lists_a_check_and_only_one_at_stop(final: Table) -> None:
    (stop,) = at_final([final.item])[final.item.pk].stops
    with pytest.raises(WrongMove, match="Only production lists a check"):
        _production(final, stop, facet="fit")
    with pytest.raises(WrongMove, match="Only production lists a check"):
        _production(final, "Check at stop: resolution, 10 ppi.")
    with pytest.raises(WrongMove, match="6 lines are too many"):
        _production(final, stop, *[f"Check at stop: {n}." for n in range(5)])
    assert not Initial.objects.exists()


def test_the_page_takes_a_check_alone_and_asks_for_something(
    final: Table, client: Client
) -> None:
    (stop,) = at_final([final.item])[final.item.pk].stops
    by = final.cast.production
    client.force_login(by)
    address = reverse(
        "viewing:slip-act-on", args=[final.item.key, "initial_as_corrected", "press"]
    )
    sent = {"receipt": receipt_for(by, final.item, final.revision), "words": ""}
    empty = client.post(address, {**sent, "event": make.event()})
    assert empty.status_code == 422
    assert not Initial.objects.exists()  # and no plain OK, which nobody meant
    assert "production may list a check" in empty.content.decode()
    done = client.post(address, {**sent, "event": make.event(), "checks": [stop]})
    assert done.status_code in {200, 302}
    assert Initial.objects.get().listed_checks == [stop]
