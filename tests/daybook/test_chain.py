"""The record: one whole chain, append-only, and a break that shows."""

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from board.books.models import Book
from board.daybook.actions import Page, Writer, enter, erase_name
from board.daybook.models import Entry, NameInRecord
from board.daybook.queries import broken_at, heads, names
from board.daybook.rules import START, Happened, first_break, link

WRITER = Writer("k" * 16, "Zoë Árnadóttir-Łoś", "ZÁŁ", "editor")


def _three(book: Book) -> None:
    for number in range(3):
        page = Page(book.key, details={"words": f"naïve {number} שלום"})
        enter(Happened.BOOK_CHANGED, page, by=WRITER)


def _drop_guard() -> None:
    """Take the trigger away, as somebody with the database in hand could."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DROP TRIGGER board_entry_no_change")
            cursor.execute("DROP TRIGGER board_entry_no_removal")
        else:
            cursor.execute("DROP TRIGGER board_entry_stays ON board_entry")


def test_each_entry_is_chained_to_the_one_before(book: Book) -> None:
    _three(book)
    first, second, third = Entry.objects.order_by("number")
    assert first.chained_to == START
    assert second.chained_to == first.chain
    assert third.chained_to == second.chain
    assert broken_at(book.key) is None
    assert heads() == {book.key: third.chain}


def test_the_database_refuses_to_change_an_entry(book: Book) -> None:
    _three(book)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Entry.objects.update(kind="nothing happened")


def test_the_database_refuses_to_take_an_entry_out(book: Book) -> None:
    _three(book)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Entry.objects.filter(number=2).delete()


@pytest.mark.parametrize("field", ["kind", "by_key", "event", "stage", "checksum"])
def test_an_altered_row_breaks_the_chain_where_it_was_altered(
    book: Book, field: str
) -> None:
    _three(book)
    _drop_guard()
    Entry.objects.filter(number=2).update(**{field: "forged"})
    assert broken_at(book.key) == 2
    with pytest.raises(CommandError, match="does not hold"):
        call_command("check_daybook")


def test_a_row_taken_out_breaks_the_chain(book: Book) -> None:
    _three(book)
    _drop_guard()
    Entry.objects.filter(number=2).delete()
    assert broken_at(book.key) == 2


def test_a_whole_chain_passes_the_check(
    book: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    _three(book)
    call_command("check_daybook")
    assert "3 entries, whole" in capsys.readouterr().out


def test_a_person_erased_leaves_the_chain_whole(book: Book) -> None:
    _three(book)
    erase_name(WRITER.key)
    assert NameInRecord.objects.get().name == "a person erased at their wish"
    assert names([WRITER.key])[WRITER.key].initials == "?"
    assert broken_at(book.key) is None


def test_the_order_of_details_does_not_matter_to_a_link() -> None:
    fields = dict.fromkeys(
        [
            "book_key",
            "number",
            "kind",
            "at",
            "by_key",
            "role",
            "item_key",
            "stage",
            "about_key",
            "checksum",
            "text_version",
            "event",
            "chained_to",
        ],
        "x",
    )
    one = link({**fields, "details": {"a": 1, "b": 2}})
    other = link({**fields, "details": {"b": 2, "a": 1}})
    assert one == other


def test_an_empty_record_is_whole() -> None:
    assert first_break([]) is None


@pytest.mark.django_db
def test_the_command_takes_the_folder_that_the_readme_names() -> None:
    call_command("check_daybook", "--folder", "/srv/board")
