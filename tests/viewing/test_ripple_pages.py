"""What an act would touch stands on its form; checks at stop and the short slip too."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client

from accounts.models import Person
from board.books.models import ItemStage
from board.books.rules import Stage, Standing
from board.checks.models import CheckRun
from board.slips.actions import initials
from board.slips.models import Initial, Reopening, Slip
from board.slips.queries.receipts import receipt_for
from board.viewing.views.slip_acts import stopped_checks
from tests import make
from tests.viewing.conftest import Hung, looks


def give(hung: Hung, by: Person, facet: str) -> Initial:
    return initials.initial(
        by=by,
        item=hung.item,
        facet=facet,
        receipt=receipt_for(by, hung.item, hung.revision),
        event=make.event(),
    )


@pytest.fixture
def agreed(hung: Hung) -> Hung:
    """A sketch that is OK."""
    cast = hung.cast
    for who, facet in (
        (cast.designer, "fit"),
        (cast.editor, "story"),
        (cast.art_director, "art"),
        (cast.author, "words"),
    ):
        give(hung, who, facet)
    assert ItemStage.objects.get(item=hung.item, stage="sketch").standing == "OK"
    return hung


def page_of(client: Client, address: str) -> str:
    return unescape(client.get(address).content.decode())


def digest_on(page: str) -> str:
    found = re.search(r'name="ripple" value="([^"]*)"', page)
    assert found
    return found[1]


def test_the_form_to_pull_says_what_it_touches_and_touches_nothing(
    agreed: Hung,
) -> None:
    given = Initial.objects.get(facet="art")
    address = agreed.room("slip-act-on", "pull", given.key)
    page = page_of(looks(agreed.cast.art_director), address)
    mine = agreed.cast.art_director.initials
    assert f"8-9, sketch: the art initial of {mine} comes off." in page
    assert "8-9, sketch: OK becomes hung." in page
    given.refresh_from_db()
    assert given.ended_at is None


def test_when_somebody_was_faster_the_ripple_is_shown_again_with_the_words_kept(
    agreed: Hung,
) -> None:
    given = Initial.objects.get(facet="art")
    client = looks(agreed.cast.art_director)
    address = agreed.room("slip-act-on", "pull", given.key)
    shown = digest_on(page_of(client, address))
    initials.pull(
        by=agreed.cast.author,
        given=Initial.objects.get(facet="words"),
        reason="A word is wrong.",
        event=make.event(),
    )
    sent = {"event": make.event(), "words": "The sky is muddy.", "ripple": shown}
    answer = client.post(address, sent)
    page = unescape(answer.content.decode())
    assert answer.status_code == 412
    assert "would touch something else by now" in page
    assert "The sky is muddy." in page
    assert digest_on(page) != shown
    assert "OK becomes hung" not in page  # it is hung already
    again = client.post(address, {**sent, "ripple": digest_on(page)})
    assert again.status_code == 302
    assert client.post(address, {**sent, "ripple": digest_on(page)}).status_code == 302
    given.refresh_from_db()
    assert given.ended_at


def test_asking_to_reopen_shows_what_comes_of_it_once_agreed(agreed: Hung) -> None:
    editor = looks(agreed.cast.editor)
    address = agreed.room("slip-act-on", "ask_reopening", "sketch")
    page = page_of(editor, address)
    assert "once it is agreed to" in page
    assert "OK becomes at the table" in page
    assert "One line in the ledger" in page
    assert not Reopening.objects.exists()
    draft = {"code": Reopening.Code.values[0], "words": "The moon.", "payer": "none"}
    sent = {"event": make.event(), "ripple": digest_on(page), **draft}
    assert editor.post(address, sent).status_code == 302
    asked = Reopening.objects.get()
    director = looks(agreed.cast.art_director)
    agree = agreed.room("slip-act-on", "agree_reopening", asked.key)
    page = page_of(director, agree)
    assert "OK becomes at the table" in page
    assert "once it is agreed" not in page
    sent = {"event": make.event(), "ripple": digest_on(page)}
    assert director.post(agree, sent).status_code == 302
    row = ItemStage.objects.get(item=agreed.item, stage="sketch")
    assert row.standing == Standing.AT_THE_TABLE


def test_only_production_is_offered_the_checks_at_stop(hung: Hung) -> None:
    final = make.revision(
        of=hung.item, by=hung.cast.illustrator, stage=Stage.FINAL, number=1
    )
    finding = {"check": "resolution", "level": "stop", "figure": "180 ppi"}
    CheckRun.objects.create(
        revision=final,
        work=CheckRun.State.DONE,
        findings=[finding],
        asked_at=make.NOW,
    )
    told = [words for _, words in stopped_checks(hung.item, "press")]
    assert len(told) == 1
    assert "180 ppi" in told[0]
    assert stopped_checks(hung.item, "art") == []
    page = page_of(
        looks(hung.cast.art_director),
        hung.room("slip-act-on", "initial_as_corrected", "art"),
    )
    assert "no longer at stop" not in page
    page = page_of(
        looks(hung.cast.production),
        hung.room("slip-act-on", "initial_as_corrected", "press"),
    )
    assert "180 ppi" in page


def test_the_room_links_the_checks_with_their_level(hung: Hung) -> None:
    page = page_of(looks(hung.cast.editor), hung.room())
    assert "Checks: not known" in page
    CheckRun.objects.create(
        revision=hung.revision, work=CheckRun.State.DONE, asked_at=make.NOW
    )
    assert "Checks: clear" in page_of(looks(hung.cast.editor), hung.room())


def test_the_art_director_may_call_a_short_slip_where_one_can_be(hung: Hung) -> None:
    address = hung.room("slip-act", "short_slip")
    director = looks(hung.cast.art_director)
    assert address not in page_of(director, hung.room())
    Slip.objects.update(left=Standing.OK_AS_CORRECTED)
    assert address in page_of(director, hung.room())
    assert address not in page_of(looks(hung.cast.editor), hung.room())
    assert looks(hung.cast.editor).get(address).status_code == 403
    told: Any = director.post(address, {"event": make.event()})
    assert told.status_code == 302
    assert Slip.objects.get().short
