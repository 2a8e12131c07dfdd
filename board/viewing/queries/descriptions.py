"""What each picture shows, in words, beside the picture it was written for."""

from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import items_of_book
from board.revisions.models import Revision
from board.revisions.queries import called, currents, small_of

HEADINGS = (
    "order", "item", "kind", "first page", "last page", "description", "picture",
    "sha256",
)  # fmt: skip


@dataclass(frozen=True)
class Described:
    """An item, its description and the current picture."""

    item: Item
    revision: Revision | None
    picture: str

    @property
    def called(self) -> str:
        return called(self.revision) if self.revision else ""

    @property
    def cells(self) -> tuple[int | str, ...]:
        """One row of what is exported for the e-book, under `HEADINGS`."""
        item = self.item
        checksum = self.revision.sha256 if self.revision else ""
        return (
            item.position, item.label, item.kind, item.first_page, item.last_page,
            item.alt_text, self.called, checksum,
        )  # fmt: skip


def descriptions_of(book: Book, person: Person) -> list[Described]:
    """Every item in page order, in a number of queries that does not grow."""
    newest = currents(book)
    found = []
    for item in items_of_book(book):
        item.book = book
        revision = newest.get(item.pk)
        small = small_of(revision, person, book)
        found.append(Described(item, revision, small))
    return found
