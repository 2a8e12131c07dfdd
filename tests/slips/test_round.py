"""One round and the next: up, marked, returned, answered, up again, OK."""

import pytest

from board.books.rules import Standing
from board.daybook.models import Entry
from board.daybook.queries import broken_at
from board.errors import NotPermitted, WrongMove
from board.slips.actions import initials, notes, rulings, stages
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.slips.queries.sentences import why_not_ok_told
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests import make
from tests.slips.conftest import BOX, Table


def test_a_round_ends_in_ok(table: Table) -> None:
    wish = table.note(table.cast.art_director)
    table.issue()
    assert table.standing == Standing.RETURNED
    table.answer(wish)
    table.next_revision()
    assert table.standing == Standing.HUNG
    rulings.close(by=table.cast.art_director, note=wish, event=make.event())
    table.all_initial()
    assert table.standing == Standing.OK
    assert why_not_ok_told(table.item, table.cast.editor) == []


def test_the_author_comes_last(table: Table) -> None:
    with pytest.raises(WrongMove) as stopped:
        table.initial(table.cast.author, "words")
    told = " ".join(stopped.value.reasons)
    assert "fit" in told
    assert "story" in told
    assert "art" in told


def test_nobody_initials_over_an_own_open_direction(table: Table) -> None:
    table.note(table.cast.designer)
    with pytest.raises(WrongMove, match="your own direction TD"):
        table.initial(table.cast.designer, "fit")


def test_an_own_direction_pulls_the_own_initial(table: Table) -> None:
    given = table.initial(table.cast.designer, "fit")
    table.note(table.cast.designer)
    given.refresh_from_db()
    assert given.ended_at is not None


def test_initials_lapse_when_the_picture_changes(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.next_revision()
    assert not Initial.objects.filter(ended_at=None).exists()


def test_clearance_is_carried_when_the_sources_are_the_same(table: Table) -> None:
    seen = table.revision.sha256
    table.initial(table.cast.rights, "clearance")
    table.next_revision()
    carried = Initial.objects.get(ended_at=None)
    assert carried.kind == Initial.Kind.CARRIED
    assert carried.seen_sha256 == seen
    assert carried.bound_sha256 == table.revision.sha256


def test_a_receipt_of_another_picture_is_refused_and_kept(table: Table) -> None:
    old = receipt_for(table.cast.designer, table.item, table.revision)
    table.next_revision()
    with pytest.raises(WrongMove, match="another revision"):
        initials.initial(
            by=table.cast.designer,
            item=table.item,
            facet="fit",
            receipt=old,
            event="phone-event-1",
        )
    kept = Entry.objects.get(kind="arrived too late")
    assert "another revision" in kept.details["reasons"][0]


def test_a_resend_does_nothing(table: Table) -> None:
    receipt = receipt_for(table.cast.designer, table.item, table.revision)
    for _ in range(3):
        initials.initial(
            by=table.cast.designer,
            item=table.item,
            facet="fit",
            receipt=receipt,
            event="phone-event-2",
        )
    assert Initial.objects.count() == 1
    draft = NoteDraft("query", "Which shoulder?", "box", BOX)
    twice = [
        notes.raise_note(
            by=table.cast.designer,
            on=table.revision,
            draft=draft,
            event="phone-event-3",
        )
        for _ in range(2)
    ]
    assert twice[0].pk == twice[1].pk


def test_nobody_initials_anothers_facet(table: Table) -> None:
    with pytest.raises(NotPermitted):
        table.initial(table.cast.designer, "art")


def test_the_illustrator_never_initials(table: Table) -> None:
    with pytest.raises(NotPermitted):
        table.initial(table.cast.illustrator, "art")


def test_every_issued_line_wants_an_answer_before_the_next_goes_up(
    table: Table,
) -> None:
    table.note(table.cast.art_director)
    table.issue()
    with pytest.raises(WrongMove, match=r"Line 1\.1"):
        table.next_revision()


def test_ok_as_corrected_sends_a_short_sheet_by_itself(table: Table) -> None:
    small = table.note(table.cast.art_director, words="Fix in colour.")
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art", small)
    table.initial(table.cast.author, "words")
    assert table.standing == Standing.OK_AS_CORRECTED
    sheet = table.item.note_sheets.get()
    assert sheet.short
    assert [line.note_id for line in sheet.lines.all()] == [small.pk]


def test_only_own_small_directions_are_listed(table: Table) -> None:
    other = table.note(table.cast.art_director)
    with pytest.raises(WrongMove, match="cannot be listed"):
        table.initial(table.cast.designer, "fit", other)


def test_a_stet_of_every_listed_line_makes_it_ok(table: Table) -> None:
    small = table.note(table.cast.art_director)
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art", small)
    table.initial(table.cast.author, "words")
    rulings.stet(
        by=table.cast.art_director,
        note=small,
        ruling="It grew on me.",
        event=make.event(),
    )
    assert table.standing == Standing.OK


def test_a_pulled_must_line_hangs_the_item_again(table: Table) -> None:
    table.all_initial()
    given = Initial.objects.get(facet="words", ended_at=None)
    initials.pull(
        by=table.cast.author, given=given, reason="I misread.", event=make.event()
    )
    assert table.standing == Standing.HUNG


def test_a_note_on_an_ok_is_late_and_blocks_nothing(table: Table) -> None:
    table.all_initial()
    late = table.note(table.cast.art_director)
    assert late.state == Note.State.LATE
    assert table.standing == Standing.OK


def test_the_next_stage_takes_the_listed_line_along(table: Table) -> None:
    small = table.note(table.cast.art_director)
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art", small)
    table.initial(table.cast.author, "words")
    stages.open_stage(
        by=table.cast.art_director,
        item=table.item,
        stage="washes",
        event=make.event(),
    )
    small.refresh_from_db()
    assert (small.stage, small.state, small.answer) == ("washes", "open", "")
    assert table.row.stage == "washes"


def test_the_record_of_a_round_is_one_whole_chain(table: Table) -> None:
    table.note(table.cast.editor)
    table.issue()
    assert broken_at(table.book.key) is None
