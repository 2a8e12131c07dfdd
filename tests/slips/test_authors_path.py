"""An author's note waits with the editor; she always reads its fate."""

import pytest

from board.errors import NotFound, NotPermitted, NotUnderstood, WrongMove
from board.slips.actions import notes
from board.slips.queries.notes import note_acts
from board.slips.queries.sentences import STILL_LOOKING, why_not_ok_told
from board.tissue.models import Note
from board.tissue.queries import note_for, notes_for, open_counts, sheets_for
from tests import make
from tests.slips.conftest import Table


def test_an_authors_note_waits_with_the_editor(table: Table) -> None:
    note = table.note(table.cast.author, "suggestion")
    assert note.state == Note.State.WITH_EDITOR


def test_no_sheet_leaves_while_a_note_waits_with_the_editor(table: Table) -> None:
    table.note(table.cast.author, "query", "Boots?")
    table.note(table.cast.art_director)
    with pytest.raises(WrongMove):
        table.issue()


def test_a_waiting_note_exists_for_its_author_and_the_editor_only(
    table: Table,
) -> None:
    note = table.note(table.cast.author, "query", "Boots?")
    for who in (table.cast.author, table.cast.editor):
        assert note_for(who, note.key).pk == note.pk
    for who in (table.cast.illustrator, table.cast.art_director, table.cast.rights):
        with pytest.raises(NotFound):
            note_for(who, note.key)
        assert notes_for(who, table.item) == []
        assert open_counts(table.book, who) == {}


def test_a_declined_note_is_read_with_its_reason_by_its_author(table: Table) -> None:
    note = table.note(table.cast.author, "suggestion", "Stouter.")
    notes.decline(
        by=table.cast.editor,
        note=note,
        reason="The text does not say.",
        event=make.event(),
    )
    seen = notes_for(table.cast.author, table.item)
    assert [one.note.ruling for one in seen] == ["The text does not say."]
    assert notes_for(table.cast.illustrator, table.item) == []
    assert notes_for(table.cast.art_director, table.item) == []


def test_declining_needs_a_reason(table: Table) -> None:
    note = table.note(table.cast.author, "suggestion")
    with pytest.raises(NotUnderstood):
        notes.decline(by=table.cast.editor, note=note, reason=" ", event=make.event())


def test_only_the_editor_passes_on(table: Table) -> None:
    note = table.note(table.cast.author, "query")
    with pytest.raises(NotFound):
        notes.pass_on(
            by=table.cast.art_director, note=note, words="", event=make.event()
        )
    with pytest.raises(NotPermitted):
        notes.pass_on(by=table.cast.author, note=note, words="", event=make.event())


def test_the_artist_reads_a_passed_note_in_the_editors_words(table: Table) -> None:
    note = table.note(table.cast.author, "query", "Would they stand in boots?")
    notes.pass_on(
        by=table.cast.editor,
        note=note,
        words="Author asks: barefoot?",
        event=make.event(),
    )
    assert notes_for(table.cast.illustrator, table.item) == []
    table.issue()
    [seen] = notes_for(table.cast.illustrator, table.item)
    assert seen.words == "Author asks: barefoot?"
    [own] = notes_for(table.cast.author, table.item)
    assert own.words == "Would they stand in boots?"
    [sheet] = sheets_for(table.cast.illustrator, table.item)
    assert [line.words for line in sheet.lines.all()] == ["Author asks: barefoot?"]


def test_lines_are_numbered_without_a_gap_when_issued(table: Table) -> None:
    kept = table.note(table.cast.art_director, "keep", "The loaf.")
    declined = table.note(table.cast.author, "suggestion", "Stouter.")
    asked = table.note(table.cast.designer, "query", "Which shoulder?")
    told = table.note(table.cast.editor, "direction", "Count again.")
    notes.decline(by=table.cast.editor, note=declined, reason="No.", event=make.event())
    table.issue()
    lines = {note.pk: note.line for note in Note.objects.all()}
    assert lines[kept.pk] == "1.1"
    assert lines[told.pk] == "1.2"
    assert lines[asked.pk] == "1.3"
    assert lines[declined.pk] == ""


def test_the_editor_closes_for_the_author(table: Table) -> None:
    note = table.note(table.cast.author, "query", "Boots?")
    notes.pass_on(by=table.cast.editor, note=note, words="", event=make.event())
    table.issue()
    table.answer(note, "barefoot")
    [seen] = notes_for(table.cast.editor, table.item)
    assert "close" in note_acts(table.cast.editor, table.item, [seen])[note.key]


def test_what_a_reader_may_not_know_is_one_sentence_without_numbers(
    table: Table,
) -> None:
    table.note(table.cast.author, "query", "Boots?")
    told = why_not_ok_told(table.item, table.cast.illustrator)
    assert STILL_LOOKING in told
    assert not any("author" in sentence.lower() for sentence in told)


def test_notes_reach_the_artist_at_once_where_the_book_says_so(table: Table) -> None:
    table.book.notes_at_once = True
    table.book.save()
    table.item.refresh_from_db()
    table.note(table.cast.art_director)
    table.note(table.cast.author, "query", "Boots?")
    item = type(table.item).objects.get(pk=table.item.pk)
    assert len(notes_for(table.cast.illustrator, item)) == 1


def test_what_the_house_says_before_the_sheet_stays_in_the_house(
    table: Table,
) -> None:
    note = table.note(table.cast.art_director)
    notes.reply(
        by=table.cast.editor, note=note, words="Is that fair?", event=make.event()
    )
    table.issue()
    notes.reply(
        by=table.cast.editor, note=note, words="Take your time.", event=make.event()
    )
    [hers] = notes_for(table.cast.illustrator, table.item)
    assert [reply.words for reply in hers.replies] == ["Take your time."]
    [house] = notes_for(table.cast.designer, table.item)
    assert len(house.replies) == 2
