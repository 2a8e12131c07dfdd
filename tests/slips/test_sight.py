"""What stands round a withheld note betrays it no more than the note itself."""

import pytest
from django.utils import timezone

from board.errors import NotFound, WrongMove
from board.permits import Role
from board.slips.actions import initials, reopenings, rulings
from board.slips.queries.lines import acts_on, initial_for, slip_lines
from board.slips.queries.record import daybook_for
from board.slips.queries.sentences import TAKEN_OFF, why_not_ok_told
from board.tissue.queries import note_for
from tests import make
from tests.slips.conftest import Table


def sentences(table: Table, role: Role) -> str:
    who = table.cast.by_role()[role]
    return "\n".join(told.sentence for told in daybook_for(who, table.book))


def test_a_credit_that_ended_opens_no_own_note_and_no_own_initial(table: Table) -> None:
    note = table.note(table.cast.author)
    given = table.initial(table.cast.designer, "fit")
    table.book.credits.filter(
        person__in=[table.cast.author, table.cast.designer]
    ).update(ended_at=timezone.now())
    with pytest.raises(NotFound):
        note_for(table.cast.author, note.key)
    assert initial_for(table.cast.designer, given.key) is None


def test_a_lapse_does_not_name_the_note_behind_it(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.note(table.cast.designer)
    told = sentences(table, Role.ILLUSTRATOR)
    assert TAKEN_OFF in told
    assert "direction" not in told
    line = next(
        line
        for line in slip_lines(table.item, table.cast.illustrator)
        if line.facet == "fit"
    )
    assert line.state == f"lapsed: {TAKEN_OFF}"


def test_why_an_initial_was_pulled_is_for_the_house(table: Table) -> None:
    given = table.initial(table.cast.designer, "fit")
    initials.pull(
        by=table.cast.designer, given=given, reason="The gutter.", event=make.event()
    )
    assert "The gutter." in sentences(table, Role.EDITOR)
    for role in (Role.ILLUSTRATOR, Role.AUTHOR):
        assert "The gutter." not in sentences(table, role)
        told = why_not_ok_told(table.item, table.cast.by_role()[role])
        assert "The gutter." not in " ".join(told)


def test_reasons_of_a_late_arrival_are_told_to_its_sender_alone(table: Table) -> None:
    table.note(table.cast.author)
    with pytest.raises(WrongMove):
        table.initial(table.cast.author, "words")
    assert "note waits" in sentences(table, Role.AUTHOR)
    for role in (Role.ART_DIRECTOR, Role.DESIGNER, Role.ILLUSTRATOR):
        assert "note waits" not in sentences(table, role)


def test_a_ruled_pair_is_known_to_who_sees_both_notes(table: Table) -> None:
    one = table.note(table.cast.art_director)
    table.issue()
    other = table.note(table.cast.production)
    rulings.rule_pair(
        by=table.cast.art_director,
        one=one,
        other=other,
        ruling="unrelated",
        event=make.event(),
    )
    assert "pair ruled" in sentences(table, Role.DESIGNER)
    assert "pair ruled" not in sentences(table, Role.ILLUSTRATOR)


def test_an_author_reads_no_count_of_other_peoples_lines(table: Table) -> None:
    table.note(table.cast.art_director)
    table.issue()
    assert "1 line" in why_not_ok_told(table.item, table.cast.editor)[0]
    assert "line" not in why_not_ok_told(table.item, table.cast.author)[0]


def test_a_reopening_is_offered_to_who_may_agree(table: Table) -> None:
    draft = {"code": "EA", "reason": "The plot.", "payer": "house"}
    reopenings.ask_reopening(
        by=table.cast.editor,
        item=table.item,
        stage="thumbnails",
        draft=draft,
        event=make.event(),
    )
    assert "agree_reopening" in acts_on(table.item, table.cast.art_director)
    assert "agree_reopening" not in acts_on(table.item, table.cast.illustrator)
