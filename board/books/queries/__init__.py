"""Finding books, items and credits; the only way a view gets hold of one."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from accounts.models import Person
from accounts.rules import PENCIL_HUES, PENCIL_LINES, token_hash
from board.books.models import (
    Book,
    Box,
    Credit,
    Invitation,
    Item,
    ItemStage,
    ItemText,
)
from board.books.rules import Standing, count_words, reading_minutes
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotFound
from board.permits import MAY, OWNS, OWNS_IN_STUDIO, Act, Role, acting_roles, require


@dataclass(frozen=True)
class Pencil:
    """How a person's marks are drawn: hue, line pattern and initials together."""

    hue: int
    line: str
    initials: str
    name: str


@dataclass(frozen=True)
class Part:
    """An item with its words, as the manuscript page shows them."""

    item: Item
    words: str
    art_note: str
    number: int
    drafted: str = ""

    @property
    def count(self) -> int:
        return count_words(self.words)

    @property
    def typed(self) -> str:
        """The words with the hints back in their brackets, to be edited."""
        if self.drafted:
            return self.drafted
        return f"{self.words} [{self.art_note}]" if self.art_note else self.words

    @property
    def remark(self) -> str:
        """What experience asks about the length (common practice, no source)."""
        if not self.item.story or not self.number:
            return ""
        if self.count > 80:
            return "over 80 words: is there room for the picture?"
        return "under 5 words: a design event" if self.count < 5 else ""


@dataclass(frozen=True)
class Manuscript:
    """The book's words in page order, with their number."""

    parts: list[Part]
    number: int
    words_a_minute: int

    @property
    def count(self) -> int:
        return sum(part.count for part in self.parts)

    @property
    def minutes(self) -> float:
        """A whole reading aloud, looking included."""
        spreads = sum(part.item.story for part in self.parts)
        return reading_minutes(self.count, spreads, words_a_minute=self.words_a_minute)

    def with_draft(self, drafted: dict[str, str]) -> "Manuscript":
        """The same with words that are only typed so far."""
        parts = [
            replace(part, drafted=drafted.get(part.item.key, part.drafted))
            for part in self.parts
        ]
        return replace(self, parts=parts)


def books_for(person: Person) -> QuerySet[Book]:
    """The books this person is credited on now."""
    live = Credit.objects.filter(person=person, ended_at=None)
    return Book.objects.filter(pk__in=live.values("book")).order_by("title", "pk")


def books_with_sends(person: Person) -> QuerySet[Book]:
    """A person's books, each with `sends`: whether they may send pictures for it."""
    sends = Credit.objects.filter(
        book=OuterRef("pk"), person=person, ended_at=None, role__in=MAY[Act.UPLOAD]
    )
    return books_for(person).annotate(sends=Exists(sends))


def credits_of(person: Person, book: Book) -> frozenset[Role]:
    """The person's own live credits on the book."""
    found = Credit.objects.filter(person=person, book=book, ended_at=None)
    return frozenset(Role(role) for role in found.values_list("role", flat=True))


def roles_of(person: Person, book: Book) -> frozenset[Role]:
    """The person's live credits, widened by a small studio's duties."""
    return acting_roles(credits_of(person, book), studio=book.is_studio)


def book_for(person: Person, key: str, act: Act = Act.LOOK) -> Book:
    """The book, if this person is credited on it (else 404) and may (else 403)."""
    book, roles = book_and_roles(person, key)
    require(act, roles)
    return book


def roles_for(person: Person, book: Book, act: Act = Act.LOOK) -> frozenset[Role]:
    """The person's credits on the book: 404 without any, 403 where none may act."""
    roles = roles_of(person, book)
    if not roles:
        raise NotFound
    require(act, roles)
    return roles


def book_and_roles(person: Person, key: str) -> tuple[Book, frozenset[Role]]:
    """The book and the person's credits on it; 404 without any."""
    book = Book.objects.filter(key=key).first()
    if book is None:
        raise NotFound
    return book, roles_for(person, book)


def item_for(person: Person, key: str, act: Act = Act.LOOK) -> Item:
    """The item, under the same two rules as its book."""
    item = Item.objects.select_related("book").filter(key=key).first()
    if item is None:
        raise NotFound
    roles_for(person, item.book, act)
    return item


def items_of_book(book: Book) -> QuerySet[Item]:
    """Items in page order with their stages; set-aside ones left out."""
    stages = ItemStage.objects.order_by("order")
    return (
        book.items.filter(set_aside=False)
        .order_by("position")
        .prefetch_related(Prefetch("stages", queryset=stages))
    )


def items_of_books(books: Iterable[Book]) -> list[Item]:
    """Items of many books in page order with books and stages, in two queries."""
    stages = ItemStage.objects.order_by("order")
    rows = Item.objects.filter(book__in=list(books), set_aside=False)
    return list(
        rows.select_related("book")
        .order_by("book__title", "book", "position")
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


def book_made_by(person: Person, event: str) -> Book | None:
    """The book that this event made already, when a form is sent twice."""
    if not event:
        return None
    made = Entry.objects.filter(
        event=event, kind=Happened.BOOK_MADE.value, by_key=person.key
    )
    return Book.objects.filter(
        key__in=list(made.values_list("book_key", flat=True))
    ).first()


def newest_texts(book: Book) -> dict[str, ItemText]:
    """The newest words of every item that has any, by item key, in one query."""
    texts = ItemText.objects.filter(item__book=book).select_related("item", "text")
    return {text.item.key: text for text in texts.order_by("text__number")}


def manuscript_of(book: Book) -> Manuscript:
    """The newest words of every item of the book that can carry any."""
    texts = newest_texts(book)
    parts = []
    for item in book.items.filter(set_aside=False).order_by("position"):
        text = texts.get(item.key)
        parts.append(
            Part(
                item=item,
                words=text.words if text else "",
                art_note=text.art_note if text else "",
                number=text.text.number if text else 0,
            )
        )
    last = book.texts.order_by("-number").first()
    return Manuscript(parts, last.number if last else 0, book.words_a_minute)


def credit_for(person: Person, key: str, act: Act) -> Credit:
    """A live credit on a book where this person may do that."""
    credit = (
        Credit.objects.select_related("book", "person")
        .filter(key=key, ended_at=None)
        .first()
    )
    if credit is None:
        raise NotFound
    book_for(person, credit.book.key, act)
    return credit


def invitation_for(person: Person, key: str, act: Act) -> Invitation:
    """An invitation onto a book where this person may do that."""
    found = Invitation.objects.select_related("book").filter(key=key).first()
    if found is None:
        raise NotFound
    book_for(person, found.book.key, act)
    return found


def box_for(person: Person, key: str, act: Act) -> Box:
    """A box on an item of a book where this person may do that."""
    found = Box.objects.select_related("item__book").filter(key=key).first()
    if found is None:
        raise NotFound
    book_for(person, found.item.book.key, act)
    return found


def credits_on(book: Book) -> QuerySet[Credit]:
    """Live credits with their people, in the order they came."""
    live = book.credits.filter(ended_at=None)
    return live.select_related("person").order_by("id")


def roles_unfilled(book: Book) -> list[Role]:
    """Whom the book needs for its art and its stations, and nobody is credited as."""
    there = set(book.credits.filter(ended_at=None).values_list("role", flat=True))
    stations = OWNS_IN_STUDIO if book.is_studio else OWNS
    return [role for role in (Role.ILLUSTRATOR, *stations) if role not in there]


def open_invitations(book: Book) -> QuerySet[Invitation]:
    """Invitations nobody answered yet, those that ran out too."""
    waiting = book.invitations.filter(accepted_at=None, withdrawn_at=None)
    return waiting.select_related("by").order_by("made_at")


def invitation_of(token: str, *, now: datetime | None = None) -> Invitation | None:
    """The invitation that this token opens now."""
    found = Invitation.objects.select_related("book", "by").filter(
        token_hash=token_hash(token),
        accepted_at=None,
        withdrawn_at=None,
        expires_at__gt=now or datetime.now(UTC),
    )
    return found.first()


def plan_of(item: Item) -> dict[str, float]:
    """The lengths a drawing of the item's empty sheet needs, in millimetres."""
    book = item.book
    gutter = 2 * book.gutter_mm if item.is_double else 0.0
    return {
        "width": item.width_mm + 2 * book.bleed_mm,
        "height": item.height_mm + 2 * book.bleed_mm,
        "bleed": book.bleed_mm,
        "trim_width": item.width_mm,
        "trim_height": item.height_mm,
        "gutter": gutter,
        "gutter_from": item.width_mm / 2 - gutter / 2,
        "safe": book.safe_mm,
        "safe_width": max(item.width_mm - 2 * book.safe_mm, 0),
        "safe_height": max(item.height_mm - 2 * book.safe_mm, 0),
    }
