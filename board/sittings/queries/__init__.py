"""Finding sittings, their lists, and what has gone up since a list was frozen."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import credits_on, roles_for
from board.errors import NotFound
from board.permits import MAY, Act, Role, acting_roles
from board.revisions.models import Revision
from board.revisions.queries import called, currents
from board.sittings.models import Decision, Sitting, SittingItem


@dataclass(frozen=True)
class Sitter:
    """Somebody on the book who may sit in, with the credits they sit there by."""

    person: Person
    roles: tuple[str, ...]
    house: bool


def sitting_for(person: Person, key: str, act: Act = Act.LOOK) -> Sitting:
    """The sitting: 404 unless credited on its book, 403 when not allowed."""
    rows = Sitting.objects.select_related("book", "chair", "now_item", "planned_by")
    found = rows.filter(key=key).first()
    if found is None:
        raise NotFound
    roles_for(person, found.book, act)
    return found


def sitting_on(book: Book, key: str) -> Sitting:
    """The book's sitting; the caller asked for the book."""
    rows = Sitting.objects.select_related("chair", "now_item", "planned_by")
    found = rows.filter(book=book, key=key).first()
    if found is None:
        raise NotFound
    found.book = book
    return found


def sittings_of(book: Book) -> QuerySet[Sitting]:
    """The book's sittings, the newest first."""
    return book.sittings.select_related("chair", "book").order_by("-number")


def sitting_before(sitting: Sitting) -> Sitting | None:
    """The last one that was closed before this one."""
    closed = sitting.book.sittings.filter(
        closed_at__isnull=False, number__lt=sitting.number
    )
    return closed.order_by("-closed_at").first()


def listed(sitting: Sitting) -> list[SittingItem]:
    """The list in page order, with what was frozen."""
    rows = list(
        sitting.items.select_related("item", "revision__laid_on").order_by(
            "item__position"
        )
    )
    for row in rows:
        row.item.book = sitting.book
        if row.revision is not None:
            row.revision.item = row.item
    return rows


def listed_item(rows: Iterable[SittingItem], item_key: str) -> SittingItem:
    """One item of a list; 404 when it is not on it."""
    row = next((row for row in rows if row.item.key == item_key), None)
    if row is None:
        raise NotFound
    return row


def newer_than_frozen(
    sitting: Sitting, rows: Iterable[SittingItem] | None = None
) -> list[tuple[SittingItem, Revision]]:
    """What was sent up since the list was frozen; it waits until after the sitting."""
    up = currents(sitting.book)
    return [
        (row, up[row.item_id])
        for row in (listed(sitting) if rows is None else rows)
        if row.item_id in up and up[row.item_id].pk != row.revision_id
    ]


def waiting_told(
    sitting: Sitting, rows: Iterable[SittingItem] | None = None
) -> list[str]:
    """The same in words."""
    return [
        f"{row.item.label}: {called(newer)} went up meanwhile and waits until after "
        "this sitting."
        for row, newer in newer_than_frozen(sitting, rows)
    ]


def decisions_of(sitting: Sitting) -> list[Decision]:
    """Every decision line as it fell; the last one on an item stands."""
    rows = sitting.decisions.select_related("item", "ruled_by", "written_by")
    return list(rows.order_by("at", "pk"))


def standing_decisions(sitting: Sitting) -> dict[int, Decision]:
    """The decision that stands on each item, by the item."""
    return {decision.item_id: decision for decision in decisions_of(sitting)}


def sitters(book: Book) -> list[Sitter]:
    """Everybody credited on the book, in the order they came, in one query."""
    roles: dict[Person, list[Role]] = {}
    for credit in credits_on(book):
        roles.setdefault(credit.person, []).append(Role(credit.role))
    return [
        Sitter(
            person=person,
            roles=tuple(role.value for role in own),
            house=not MAY[Act.DECIDE].isdisjoint(
                acting_roles(own, studio=book.is_studio)
            ),
        )
        for person, own in roles.items()
    ]


def sitter(book: Book, key: str) -> Person:
    """Somebody credited on the book, by key."""
    found = next((one for one in sitters(book) if one.person.key == key), None)
    if found is None:
        raise NotFound("Nobody of that name is on this book any more.")
    return found.person


def items_on(book: Book) -> list[Item]:
    """What a sitting may be planned on, in page order."""
    return list(book.items.filter(set_aside=False).order_by("position"))
