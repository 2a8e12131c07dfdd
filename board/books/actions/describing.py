"""Describing pictures: for who cannot see them, and what they add to the words."""

from dataclasses import dataclass

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, Stale
from board.permits import Act, require

LONGEST = 2000
LONGEST_LINE = 300


@transaction.atomic
def describe(
    item: Item, words: str, *, by: Person, version: int, event: str = ""
) -> Item:
    """Say what an item's picture shows; the editor's words, read aloud and exported."""
    line = _Line(
        "alt_text", Act.EDIT_TEXT, Happened.DESCRIBED, "a description", LONGEST
    )
    return _kept(item, words, line, by=by, version=version, event=event)


@transaction.atomic
def say_what_picture_adds(
    item: Item, words: str, *, by: Person, version: int, event: str = ""
) -> Item:
    """Say in a line what an item's picture tells that its words do not."""
    line = _Line(
        "picture_adds",
        Act.SAY_WHAT_PICTURE_ADDS,
        Happened.PICTURE_ADDS,
        "a line",
        LONGEST_LINE,
    )
    return _kept(item, words, line, by=by, version=version, event=event)


@dataclass(frozen=True)
class _Line:
    """Words an item carries about its picture."""

    field: str
    act: Act
    kind: Happened
    called: str
    longest: int


def _kept(
    item: Item, words: str, line: _Line, *, by: Person, version: int, event: str
) -> Item:
    book = Book.objects.select_for_update().get(pk=item.book_id)
    require(line.act, roles_of(by, book))
    kept = Item.objects.select_for_update().get(pk=item.pk)
    if event and happened_already(book.key, event):
        return kept
    words = " ".join(words.split())
    if len(words) > line.longest:
        raise NotUnderstood(
            f"That is {len(words)} characters; {line.called} has {line.longest} at the "
            "most."
        )
    if kept.version != version:
        raise Stale
    if getattr(kept, line.field) == words:
        return kept
    setattr(kept, line.field, words)
    kept.version += 1
    kept.save(update_fields=[line.field, "version"])
    page = Page(book.key, item_key=kept.key, details={"words": words})
    enter(line.kind, page, by=hand(by, book, line.act), event=event)
    return kept
