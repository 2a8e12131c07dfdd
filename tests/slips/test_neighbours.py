"""Late notes are ruled; what lies beside a reopened item is flagged."""

import pytest

from board.books.rules import Stage
from board.continuity.models import Thing, Value
from board.errors import NotPermitted, WrongMove
from board.slips.actions.neighbours import look_again_done
from board.slips.actions.reopenings import ask_reopening
from board.slips.actions.ripples import foreseen
from board.slips.actions.rulings import rule_late
from board.slips.actions.stages import open_stage
from board.slips.models import LookAgain
from board.slips.queries.book import why_not_open
from board.slips.queries.sentences import knows
from board.tissue.models import Note
from tests import make
from tests.slips.conftest import Table


def _late(table: Table) -> Note:
    table.all_initial()
    note = table.note(table.cast.editor)
    assert note.state == Note.State.LATE
    return note


def _rule(table: Table, note: Note, ruling: str) -> Note:
    return rule_late(
        by=table.cast.art_director,
        note=note,
        ruling=ruling,
        words="It may wait.",
        event=make.event(),
    )


def _waits(table: Table) -> bool:
    to = knows(table.cast.editor, table.book)
    told = why_not_open(table.book, Stage.SKETCH, to)
    return any("late note" in one for one in told)


def test_a_late_note_that_waits_for_the_next_stage_opens_there(table: Table) -> None:
    note = _late(table)
    assert _waits(table)
    _rule(table, note, "next stage")
    assert not _waits(table)
    open_stage(
        by=table.cast.art_director, item=table.item, stage="washes", event=make.event()
    )
    note.refresh_from_db()
    assert (note.state, note.stage, note.waits_for) == ("open", "washes", "")


def test_a_late_note_for_the_next_printing_is_left(table: Table) -> None:
    note = _rule(table, _late(table), "next printing")
    assert note.state == Note.State.LEFT
    assert note.ruling == "next printing: It may wait."
    assert not _waits(table)


def test_only_the_art_director_rules_a_late_note_and_only_a_late_one(
    table: Table,
) -> None:
    early = table.note(table.cast.designer, sort="suggestion")
    with pytest.raises(WrongMove):
        _rule(table, early, "next stage")
    with pytest.raises(NotPermitted):
        rule_late(
            by=table.cast.editor,
            note=early,
            ruling="next stage",
            words="x",
            event=make.event(),
        )


def _reopen(table: Table) -> None:
    ask_reopening(
        by=table.cast.publisher,
        item=table.item,
        stage="sketch",
        draft={"code": "EA", "reason": "The coat.", "payer": "house"},
        event=make.event(),
    )


def test_neighbours_and_what_shares_a_thing_are_flagged_and_lose_nothing(
    table: Table,
) -> None:
    table.all_initial()
    far = table.book.items.get(label="26-27")
    coat = Thing.objects.create(
        book=table.book, name="coat", by=table.cast.editor, at=make.NOW
    )
    for item in (table.item, far):
        Value.objects.create(
            thing=coat, item=item, value="ochre", by=table.cast.editor, at=make.NOW
        )
    ripple = foreseen(table.book, lambda: _reopen(table))
    assert len(ripple.flags) == 3
    _reopen(table)
    flagged = {flag.item.label: flag for flag in LookAgain.objects.all()}
    assert set(flagged) == {"6-7", "10-11", "26-27"}
    assert flagged["26-27"].why == "coat"
    look_again_done(by=table.cast.illustrator, flag=flagged["6-7"], event=make.event())
    assert LookAgain.objects.filter(looked_at=None).count() == 2


def test_looking_ahead_tells_nobody_and_leaves_nothing(
    table: Table, django_capture_on_commit_callbacks: object
) -> None:
    table.all_initial()
    with django_capture_on_commit_callbacks() as told:  # type: ignore[operator]  # a fixture
        foreseen(table.book, lambda: _reopen(table))
    assert told == []
    assert not LookAgain.objects.exists()
