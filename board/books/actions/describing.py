"""Describing pictures for who cannot see them."""

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


@transaction.atomic
def describe(
    item: Item, words: str, *, by: Person, version: int, event: str = ""
) -> Item:
    """Say what an item's picture shows; the editor's words, read aloud and exported."""
    book = Book.objects.select_for_update().get(pk=item.book_id)
    require(Act.EDIT_TEXT, roles_of(by, book))
    kept = Item.objects.select_for_update().get(pk=item.pk)
    if event and happened_already(book.key, event):
        return kept
    words = " ".join(words.split())
    if len(words) > LONGEST:
        raise NotUnderstood(
            f"That is {len(words)} characters; a description has {LONGEST} at the most."
        )
    if kept.version != version:
        raise Stale
    if kept.alt_text == words:
        return kept
    kept.alt_text = words
    kept.version += 1
    kept.save(update_fields=["alt_text", "version"])
    page = Page(book.key, item_key=kept.key, details={"words": words})
    enter(Happened.DESCRIBED, page, by=hand(by, book, Act.EDIT_TEXT), event=event)
    return kept
