"""Finding books, items and credits; the only way a view gets hold of one."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from accounts.models import Person
from accounts.rules import PENCIL_HUES, PENCIL_LINES
from board.books.models import Book, Credit, Item, ItemStage, ItemText
from board.books.rules import Standing
from board.errors import NotFound
from board.permits import Act, Role, acting_roles, require


@dataclass(frozen=True)
class Pencil:
    """How a person's marks are drawn: hue, line pattern and initials together."""

    hue: int
    line: str
    initials: str
    name: str


def books_for(person: Person) -> QuerySet[Book]:
    """The books this person is credited on now."""
    live = Credit.objects.filter(person=person, ended_at=None)
    return Book.objects.filter(pk__in=live.values("book")).order_by("title", "pk")


def credits_of(person: Person, book: Book) -> frozenset[Role]:
    """The person's own live credits on the book."""
    found = Credit.objects.filter(person=person, book=book, ended_at=None)
    return frozenset(Role(role) for role in found.values_list("role", flat=True))


def roles_of(person: Person, book: Book) -> frozenset[Role]:
    """The person's live credits, widened by a small studio's duties."""
    return acting_roles(credits_of(person, book), studio=book.is_studio)


def book_for(person: Person, key: str, act: Act = Act.LOOK) -> Book:
    """The book, if this person is credited on it (else 404) and may (else 403)."""
    book = books_for(person).filter(key=key).first()
    if book is None:
        raise NotFound
    require(act, roles_of(person, book))
    return book


def item_for(person: Person, key: str, act: Act = Act.LOOK) -> Item:
    """The item, under the same two rules as its book."""
    found = Item.objects.select_related("book").filter(
        key=key, book__in=books_for(person)
    )
    item = found.first()
    if item is None:
        raise NotFound
    require(act, roles_of(person, item.book))
    return item


def items_of_book(book: Book) -> QuerySet[Item]:
    """Items in page order with their stages; set-aside ones left out."""
    stages = ItemStage.objects.order_by("order")
    return (
        book.items.filter(set_aside=False)
        .order_by("position")
        .prefetch_related(Prefetch("stages", queryset=stages))
    )


def latest_open(stages: list[ItemStage]) -> ItemStage | None:
    """The item's latest open stage: every event acts there (latest-stage rule)."""
    opened = [
        stage
        for stage in stages
        if stage.standing != Standing.SHUT and not stage.waived
    ]
    return max(opened, key=lambda stage: stage.order, default=None)


def text_of(item: Item) -> ItemText | None:
    """The item's newest words."""
    return item.texts.select_related("text").order_by("-text__number").first()


def text_number_of(item: Item) -> int:
    """The last text version in which this item's words changed; 0 without words."""
    newest = text_of(item)
    return newest.text.number if newest else 0


def people_on(book: Book, *roles: Role) -> QuerySet[Person]:
    """People with a live credit on the book, in any of the roles if given."""
    live = book.credits.filter(ended_at=None)
    if roles:
        live = live.filter(role__in=[role.value for role in roles])
    return Person.objects.filter(pk__in=live.values("person")).order_by("name")


def pencils(book: Book) -> dict[str, Pencil]:
    """Each credited person's pencil, by person key, in the order they came."""
    rows = (
        book.credits.order_by("id")
        .values_list("person__key", "person__initials", "person__name")
        .distinct()
    )
    people = {key: (initials, name) for key, initials, name in rows}
    return {
        key: Pencil(
            hue=place % PENCIL_HUES,
            line=PENCIL_LINES[place % len(PENCIL_LINES)],
            initials=initials,
            name=name,
        )
        for place, (key, (initials, name)) in enumerate(people.items())
    }


def credit_ended_since(person: Person, book: Book, moment: datetime) -> bool:
    """Whether a credit of this person on the book ended after the moment."""
    ended = Credit.objects.filter(person=person, book=book, ended_at__gt=moment)
    return ended.exists()
