"""What comes late, twice, stale or out of order: a stated outcome, nothing typed lost."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from board.books.rules import Standing
from board.daybook.actions import replayed_at, this_moment
from board.daybook.models import Entry
from board.daybook.queries import broken_at
from board.errors import WrongMove
from board.slips.actions import initials, notes
from board.slips.actions.texts import make_text_version
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.slips.queries.replayed import replay
from board.tissue.models import Note
from board.tissue.queries import notes_for
from board.tissue.rules import NoteDraft
from tests import make
from tests.slips.conftest import BOX, Table


def _initial(table: Table, receipt: str, event: str = "") -> Initial:
    return initials.initial(
        by=table.cast.designer,
        item=table.item,
        facet="fit",
        receipt=receipt,
        event=event or make.event(),
    )


def test_an_initial_with_another_revisions_receipt_is_kept_and_not_applied(
    table: Table,
) -> None:
    old = receipt_for(table.cast.designer, table.item, table.revision)
    table.next_revision()
    with pytest.raises(WrongMove, match="another revision"):
        _initial(table, old)
    assert not Initial.objects.exists()
    assert Entry.objects.filter(kind="arrived too late").count() == 1


def test_an_initial_sent_again_is_the_same_one(table: Table) -> None:
    receipt = receipt_for(table.cast.designer, table.item, table.revision)
    first = _initial(table, receipt, "sent-twice-by-phone")
    again = _initial(table, receipt, "sent-twice-by-phone")
    assert first == again
    assert Initial.objects.count() == 1


def test_a_stale_tab_is_told_that_the_words_changed(table: Table) -> None:
    receipt = receipt_for(table.cast.designer, table.item, table.revision)
    make_text_version(
        by=table.cast.editor,
        book=table.book,
        words={table.item.key: "fifty years"},
        reasons={},
        event=make.event(),
    )
    with pytest.raises(WrongMove, match="words changed"):
        _initial(table, receipt)


def test_a_note_for_a_superseded_revision_is_kept_marked_and_carried(
    table: Table,
) -> None:
    old = table.revision
    table.next_revision()
    note = notes.raise_note(
        by=table.cast.editor,
        on=old,
        draft=NoteDraft("direction", "On the train.", "box", BOX),
        event=make.event(),
    )
    (seen,) = notes_for(table.cast.editor, table.item)
    assert seen.superseded
    assert (note.made_on.number, note.points) == (1, BOX)
    assert note.state == Note.State.OPEN


def test_a_credit_that_ended_an_hour_ago_gets_back_what_was_typed(
    table: Table, client: Client
) -> None:
    client.force_login(table.cast.editor)
    address = reverse("viewing:new-note", args=[table.item.key])
    address += f"?revision={table.revision.key}"
    assert client.get(address).status_code == 200
    an_hour = this_moment() - timedelta(hours=1)
    table.book.credits.filter(person=table.cast.editor).update(ended_at=an_hour)
    sent = {"event": "a-late-event", "sort": "direction", "words": "Nobody touch it."}
    answer = client.post(address, sent)
    assert answer.status_code == 404
    assert "Nobody touch it." in answer.content.decode()
    assert not Note.objects.exists()


@pytest.mark.parametrize("jump", [timedelta(days=-400), timedelta(days=400)])
def test_a_clock_that_jumps_breaks_neither_chain_nor_standing(
    table: Table, jump: timedelta
) -> None:
    with replayed_at(this_moment() + jump):
        table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art")
    table.initial(table.cast.author, "words")
    assert table.standing == Standing.OK
    assert broken_at(table.book.key) is None
    numbers = list(
        Entry.objects.filter(book_key=table.book.key)
        .order_by("number")
        .values_list("number", flat=True)
    )
    assert numbers == list(range(1, len(numbers) + 1))
    assert replay(table.book).standings[table.item.key, "sketch"] == "OK"


def test_what_a_phone_wrote_before_may_arrive_after_with_every_reason(
    table: Table,
) -> None:
    offline = receipt_for(table.cast.author, table.item, table.revision)
    table.note(table.cast.editor)
    table.issue()
    with pytest.raises(WrongMove) as stopped:
        initials.initial(
            by=table.cast.author,
            item=table.item,
            facet="words",
            receipt=offline,
            event="from-the-ferry",
        )
    assert len(stopped.value.reasons) == 4
    note = notes.raise_note(
        by=table.cast.author,
        on=table.revision,
        draft=NoteDraft("query", "Boots, in that wet?", "box", BOX),
        event="from-the-ferry-too",
    )
    assert note.state == Note.State.WITH_EDITOR
