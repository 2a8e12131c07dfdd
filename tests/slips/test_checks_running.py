"""An OK at final waits for the checks of the picture it is given on."""

from dataclasses import replace

import pytest

from board.books.rules import Stage, Standing
from board.checks.actions import tell_over
from board.checks.models import CheckRun
from board.checks.tasks import sweep
from board.errors import WrongMove
from board.slips.actions import holds, stages
from board.slips.queries.sentences import why_not_ok_told
from board.slips.queries.waiting import waiting_for
from board.slips.rules.wants import Kind
from tests import make
from tests.slips.conftest import Table

STILL = "The checks of this revision are still running."
STRIP = {"check": "bleed", "level": "stop", "figure": "right edge, 2.0 mm short"}


@pytest.fixture
def final(table: Table) -> Table:
    """The spread with a final sent up."""
    for stage in (Stage.SKETCH, Stage.WASHES):
        make.at(table.item, stage, Standing.OK)
    make.at(table.item, Stage.FINAL, Standing.AT_THE_TABLE)
    by = table.cast.illustrator
    new = make.revision(of=table.item, by=by, stage=Stage.FINAL)
    sent = stages.send_up(by=by, revision=new, event=make.event())
    return replace(table, revision=sent)


def asked(table: Table, work: CheckRun.State = CheckRun.State.WAITING) -> CheckRun:
    return CheckRun.objects.create(
        revision=table.revision, recipe=make.event(), asked_at=make.NOW, work=work
    )


def over(run: CheckRun, work: CheckRun.State, *findings: dict[str, str]) -> None:
    run.work, run.findings = work, list(findings)
    run.save()
    tell_over([run])


def first_group(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.rights, "clearance")


def last_group(table: Table) -> None:
    table.initial(table.cast.art_director, "art")
    table.initial(table.cast.author, "words")


@pytest.mark.parametrize("work", [CheckRun.State.WAITING, CheckRun.State.WORKING])
def test_production_cannot_initial_while_the_checks_run(
    final: Table, work: CheckRun.State
) -> None:
    run = asked(final, work)
    first_group(final)  # nobody else waits for them
    with pytest.raises(WrongMove, match=STILL):
        final.initial(final.cast.production, "press")
    (waits,) = waiting_for(final.cast.production)
    assert waits.want.kind is Kind.INITIAL  # it is hers, in a minute
    over(run, CheckRun.State.DONE)
    final.initial(final.cast.production, "press")
    last_group(final)
    assert final.standing == Standing.OK


def test_an_ok_waits_for_checks_that_began_after_productions_initial(
    final: Table,
) -> None:
    first_group(final)
    final.initial(final.cast.production, "press")
    run = asked(final)
    last_group(final)
    assert final.standing == Standing.HUNG
    told = why_not_ok_told(final.item, final.cast.editor)
    assert len(told) == 1
    assert told[0].startswith(STILL)
    over(run, CheckRun.State.DONE)
    assert final.standing == Standing.OK


def test_a_stop_that_is_found_late_keeps_the_item_hung(final: Table) -> None:
    first_group(final)
    final.initial(final.cast.production, "press")
    run = asked(final)
    last_group(final)
    over(run, CheckRun.State.DONE, STRIP)
    assert final.standing == Standing.HUNG
    told = why_not_ok_told(final.item, final.cast.editor)
    assert told == ["Check at stop: bleed, right edge, 2.0 mm short."]


def test_checks_that_failed_keep_nobody_waiting(final: Table) -> None:
    run = asked(final)
    first_group(final)
    CheckRun.objects.filter(pk=run.pk).update(attempts=3)
    sweep()
    final.initial(final.cast.production, "press")
    last_group(final)
    assert final.standing == Standing.OK


def test_a_worn_out_run_lets_the_ok_follow(final: Table) -> None:
    first_group(final)
    final.initial(final.cast.production, "press")
    run = asked(final)
    last_group(final)
    CheckRun.objects.filter(pk=run.pk).update(attempts=3)
    sweep()
    assert final.standing == Standing.OK


def test_a_hold_outlasts_the_checks(final: Table) -> None:
    first_group(final)
    final.initial(final.cast.production, "press")
    run = asked(final)
    last_group(final)
    holds.hold(
        by=final.cast.rights, item=final.item, reason="a name", event=make.event()
    )
    over(run, CheckRun.State.DONE)
    assert final.standing == Standing.HUNG


def test_a_sketch_does_not_wait_for_its_checks(table: Table) -> None:
    asked(table)
    table.all_initial()
    assert table.standing == Standing.OK
