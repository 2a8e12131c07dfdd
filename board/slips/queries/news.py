"""What was entered after a number, read once for all who listen in this process."""

from dataclasses import dataclass, field
from functools import cached_property

from board.books.models import Book, Credit
from board.books.queries import Pencil, pencils
from board.daybook.models import Entry
from board.daybook.queries import entries_of, head_of
from board.daybook.rules import Happened
from board.permits import Role, acting_roles
from board.slips.queries.events import TRIES
from board.slips.queries.record import About, read_about

RELEASES = frozenset({Happened.PASSED_ON, Happened.SHEET_ISSUED})
OTHER_SIGHT = frozenset(
    {Happened.CREDIT_GIVEN, Happened.CREDIT_ENDED, Happened.BOOK_CHANGED}
)


@dataclass(frozen=True)
class News:
    """Entries of one book after number `after` up to `head`, and whom they concern.

    `releases` says that older entries became known with these; `roles` are everybody's
    credits by person, where these entries may have changed what somebody sees. `texts`
    keeps what was written out already, by each entry's number: readers of the same
    credits, whose own doing nothing of it is, are told the same.
    """

    book: Book
    after: int
    head: int
    entries: tuple[Entry, ...]
    about: About
    pencils: dict[str, Pencil] = field(default_factory=dict)
    releases: bool = False
    roles: dict[int, frozenset[Role]] | None = None
    texts: dict[tuple[object, ...], list[tuple[int, str]]] = field(default_factory=dict)

    def told_as(self, person_key: str) -> str:
        """The person, where something of this is theirs; else nobody in particular."""
        return person_key if person_key in self._own else ""

    @cached_property
    def _own(self) -> frozenset[str]:
        notes = (note.by.key for note in self.about.notes.values())
        entries = (entry.by_key for entry in self.entries)
        return frozenset([*notes, *entries, *self.about.people])


def news_of(book_key: str, after: int) -> News | None:
    """What was entered after this number, or nothing.

    Notes are read after the entries; if more was entered meanwhile, it is read too, so
    that nobody's sight is ahead of the entries told.
    """
    book = Book.objects.filter(key=book_key).first()
    if book is None:
        return None
    for _ in range(TRIES):
        entries = tuple(entries_of(book_key).filter(number__gt=after))
        if not entries:
            return None
        about = read_about(book, entries)
        if head_of(book_key) == entries[-1].number:
            break
    kinds = {entry.kind for entry in entries}
    return News(
        book=book,
        after=after,
        head=entries[-1].number,
        entries=entries,
        about=about,
        pencils=pencils(book) if about.notes else {},
        releases=not kinds.isdisjoint(RELEASES),
        roles=None if kinds.isdisjoint(OTHER_SIGHT) else roles_on(book),
    )


def roles_on(book: Book) -> dict[int, frozenset[Role]]:
    """Everybody's live credits on the book, widened as the book is set up."""
    own: dict[int, set[Role]] = {}
    live = Credit.objects.filter(book=book, ended_at=None, person__is_active=True)
    for person, role in live.values_list("person", "role"):
        own.setdefault(person, set()).add(Role(role))
    return {
        person: acting_roles(roles, studio=book.is_studio)
        for person, roles in own.items()
    }
