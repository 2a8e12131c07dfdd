"""Who signs p.p. for whom, on which days."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from accounts.models import Person
from board.books.models import Book, Credit, Deputy
from board.books.queries import roles_of
from board.daybook.actions import this_moment
from board.permits import Facet, Role, acting_roles, facets_of


@dataclass(frozen=True)
class StandsFor:
    """A station a person may sign p.p. at today, and for whom."""

    role: Role
    principal: Person
    facets: tuple[Facet, ...]


def today() -> date:
    """The day in UTC, as the record counts days."""
    return this_moment().date()


def deputies_on(book: Book) -> QuerySet[Deputy]:
    """Deputies that were not ended, those to come and gone by too."""
    rows = book.deputies.filter(ended_at=None)
    return rows.select_related("person", "principal", "named_by").order_by(
        "first_day", "pk"
    )


def stands_for(person: Person, book: Book) -> list[StandsFor]:
    """Where this person is a deputy today; a principal whose credit ended has none.

    Nobody credited as illustrator is a deputy, so nobody initials own art p.p.
    """
    return lent_to(person, [book])[book.pk]


def lent_to(person: Person, books: Iterable[Book]) -> dict[int, list[StandsFor]]:
    """The same for many books, by book: one query, two where somebody is a deputy."""
    known = {book.pk: book for book in books}
    found: dict[int, list[StandsFor]] = {pk: [] for pk in known}
    rows = list(_today(known.values()).filter(person=person))
    credited = Credit.objects.filter(
        book__in=[row.book_id for row in rows], ended_at=None
    )
    live = set(credited.values_list("book", "person", "role")) if rows else set()
    for row in rows:
        maker = (row.book_id, person.pk, Role.ILLUSTRATOR.value) in live
        if not maker and (row.book_id, row.principal_id, row.role) in live:
            found[row.book_id].append(_station(row, known[row.book_id]))
    return found


def is_lent(person: Person) -> Exists:
    """Whether this person is a deputy on a row's book today, asked with the rows."""
    day = today()
    return Exists(
        Deputy.objects.filter(
            book=OuterRef("book"),
            person=person,
            ended_at=None,
            first_day__lte=day,
            last_day__gte=day,
        )
    )


def _today(books: Iterable[Book]) -> QuerySet[Deputy]:
    day = today()
    live = Deputy.objects.filter(
        book__in=[book.pk for book in books],
        ended_at=None,
        first_day__lte=day,
        last_day__gte=day,
    )
    return live.select_related("principal").order_by("pk")


def _station(row: Deputy, book: Book) -> StandsFor:
    roles = acting_roles([Role(row.role)], studio=book.is_studio)
    owned = facets_of(roles, studio=book.is_studio)
    return StandsFor(Role(row.role), row.principal, owned)


def signing_roles(person: Person, book: Book) -> frozenset[Role]:
    """The person's roles and those they are a deputy for today."""
    return roles_of(person, book) | {one.role for one in stands_for(person, book)}


def principal_for(person: Person, book: Book, facet: Facet) -> StandsFor | None:
    """For whom this person signs p.p. at the facet's station today."""
    for one in stands_for(person, book):
        if facet in one.facets:
            return one
    return None
