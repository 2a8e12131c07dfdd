"""The only code that writes books, items and words; credits and boxes beside it."""

from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from accounts.models import Person
from board.books.models import (
    Book,
    Credit,
    Item,
    ItemStage,
    ItemText,
    TextVersion,
)
from board.books.queries import (
    book_made_by,
    credits_of,
    newest_texts,
    roles_of,
)
from board.books.rules import (
    STAGES,
    Ends,
    items_of,
    take_out_art_notes,
)
from board.daybook.actions import Page, Writer, enter, know
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, Stale
from board.permits import MAY, Act, Role, acting_roles, may, require

SETTINGS = frozenset(
    [
        "title",
        "house",
        "safe_mm",
        "gutter_mm",
        "art_percent",
        "type_face",
        "type_pt",
        "leading_pt",
        "words_a_minute",
        "days_house",
        "days_author",
        "days_artist",
        "days_corrections",
        "ppi_warn",
        "ppi_stop",
    ]
)


@dataclass(frozen=True)
class BookDraft:
    """What a book begins with; lengths in millimetres, `roles` its maker's own."""

    title: str
    trim_width_mm: float
    trim_height_mm: float
    roles: Collection[Role]
    house: str = ""
    extent: int = 32
    ends: Ends = Ends.SELF
    bleed_mm: float = 3.0
    safe_mm: float = 6.35
    gutter_mm: float = 9.525
    art_percent: float = 100.0
    preset: str = Book.Preset.HOUSE
    author_approves: bool = True
    notes_at_once: bool = False


def writer(person: Person, role: Role | str = "") -> Writer:
    """The person as the record writes them down."""
    return Writer(person.key, person.name, person.initials, str(role))


def hand(person: Person, book: Book, act: Act) -> Writer:
    """The person with the credit of theirs that lets them do this, for the record."""
    own = sorted(credits_of(person, book))
    studio = book.is_studio
    fitting = [role for role in own if role in MAY[act]]
    fitting += [role for role in own if may(act, acting_roles({role}, studio=studio))]
    return writer(person, next(iter(fitting + own), ""))


@transaction.atomic
def make_book(
    *, by: Person, draft: BookDraft, event: str = "", now: datetime | None = None
) -> Book:
    """Make a book, its items in page order, each with its stages; credit its maker."""
    if not by.keeps_house:
        raise NotPermitted(
            "Only people who look after the house may make books here. "
            "Ask them to make it and to invite you onto it."
        )
    made = book_made_by(by, event)
    if made:
        return made
    own = sorted(draft.roles)
    plans = items_of(draft.extent, draft.ends)
    fields = {name: value for name, value in asdict(draft).items() if name != "roles"}
    book = Book.objects.create(**fields)
    items = Item.objects.bulk_create(
        Item(
            book=book,
            position=position,
            kind=plan.kind,
            first_page=plan.first,
            last_page=plan.last,
            label=plan.label,
            story=plan.story,
        )
        for position, plan in enumerate(plans, start=1)
    )
    ItemStage.objects.bulk_create(
        ItemStage(item=item, stage=stage, order=order)
        for item in items
        for order, stage in enumerate(STAGES)
    )
    first = writer(by, next(iter(own), ""))
    told = {name: str(value) for name, value in fields.items()}
    page = Page(book.key, details=told)
    enter(Happened.BOOK_MADE, page, by=first, event=event, now=now)
    for role in own:
        write_credit(book, by, role, by=first, now=now)
    return book


@transaction.atomic
def change_book(
    book: Book, changes: Mapping[str, Any], *, by: Person, version: int
) -> Book:
    """Change settings that lapse nothing; stations and format are acts of `slips`."""
    # Any: a setting is a word, a number or yes / no
    require(Act.SET_UP_BOOK, roles_of(by, book))
    kept = Book.objects.select_for_update().get(pk=book.pk)
    if kept.version != version:
        now = {name: str(getattr(kept, name)) for name in sorted(changes)}
        raise Stale(now={name.replace("_", " "): said for name, said in now.items()})
    new = {
        name: value
        for name, value in changes.items()
        if name in SETTINGS and getattr(kept, name) != value
    }
    if not new:
        return kept
    told = {name: [str(getattr(kept, name)), str(new[name])] for name in new}
    for name, value in new.items():
        setattr(kept, name, value)
    kept.version += 1
    kept.save(update_fields=[*new, "version"])
    page = Page(kept.key, details=told)
    enter(Happened.BOOK_CHANGED, page, by=hand(by, kept, Act.SET_UP_BOOK))
    return kept


def write_credit(
    book: Book,
    person: Person,
    role: Role,
    *,
    by: Writer,
    event: str = "",
    now: datetime | None = None,
) -> Credit:
    """Write the credit and enter it; the caller holds the book and asked permits."""
    credit, new = Credit.objects.get_or_create(
        book=book, person=person, role=role, ended_at=None
    )
    if new:
        know(writer(person))
        details = {"person": person.key, "role": role.value}
        page = Page(book.key, about_key=credit.key, details=details)
        enter(Happened.CREDIT_GIVEN, page, by=by, event=event, now=now)
    return credit


@transaction.atomic
def make_text_version(  # noqa: PLR0913 - the event's id too
    book: Book,
    words: Mapping[str, str],
    *,
    by: Person,
    reason: str = "",
    code: str = "",
    payer: str = "",
    asked_by: str = "",
    event: str = "",
) -> TextVersion:
    """Keep the next version of the words of the items named by key.

    Hints to the artist stand in square brackets and are kept apart from the words;
    without any the old ones stay, empty brackets take them out.
    Only items whose words differ get new ones; `slips` decides what that lapses.
    """
    require(Act.EDIT_TEXT, roles_of(by, book))
    Book.objects.select_for_update().get(pk=book.pk)
    done = happened_already(book.key, event)
    if done and done.kind == Happened.TEXT_MADE:
        return book.texts.get(number=done.text_version or 0)
    before = {
        key: (text.words, text.art_note) for key, text in newest_texts(book).items()
    }
    new = {key: _apart(said, before.get(key)) for key, said in words.items()}
    items = {item.key: item for item in book.items.filter(key__in=new)}
    changed = [key for key in items if new[key] != before.get(key, ("", ""))]
    if not changed:
        raise NotUnderstood("The words are the same as before; change some first.")
    last = book.texts.order_by("-number").first()
    made = TextVersion.objects.create(
        book=book,
        number=last.number + 1 if last else 1,
        by=by,
        at=datetime.now(UTC),
        reason=reason,
        code=code,
        payer=payer,
        asked_by=asked_by,
    )
    ItemText.objects.bulk_create(
        ItemText(text=made, item=items[key], words=new[key][0], art_note=new[key][1])
        for key in changed
    )
    details = {"items": changed, "reason": reason, "code": code, "payer": payer}
    details |= {"asked by": asked_by} if asked_by else {}
    page = Page(book.key, text_version=made.number, details=details)
    enter(Happened.TEXT_MADE, page, by=hand(by, book, Act.EDIT_TEXT), event=event)
    return made


def _apart(said: str, before: tuple[str, str] | None) -> tuple[str, str]:
    words, art_note = take_out_art_notes(said)
    kept = before[1] if before and "[" not in said else art_note
    return words, kept
