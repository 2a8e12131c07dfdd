"""The words of a mail: what waits, since when, by when, and where; never a note's words.

No picture, no note and no count of notes that the reader may not know goes into a mail:
everything said comes from what waits for this reader, told as the desk tells it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from accounts.models import Person
from board.books.models import Book
from board.books.queries import books_for
from board.post.queries import off_token, quiet_books
from board.post.rules import MOST_LINES
from board.slips.queries.due import today_of
from board.slips.queries.waiting import Waiting, waiting_for
from board.slips.rules.due import due_told


@dataclass(frozen=True)
class Line:
    """One item in a mail."""

    label: str
    stage: str
    reasons: tuple[str, ...]
    due: str
    address: str


@dataclass(frozen=True)
class Part:
    """What waits on one book, and how its mails are stopped."""

    book: Book
    lines: tuple[Line, ...]
    more: int
    off: str


@dataclass(frozen=True)
class Letter:
    """A mail, ready to be sent; `says` names what it says."""

    subject: str
    text: str
    html: str
    off: str
    says: tuple[str, ...]


def item_path(waiting: Waiting) -> str:
    """Where the item is looked at: an author's is her letter about it."""
    name = "viewing:letter" if waiting.letter else "viewing:item"
    return reverse(name, args=[waiting.item.key])


def digest(person: Person, now: datetime) -> Letter | None:
    """Everything that waits for the person on books they hear of; None if nothing."""
    books = list(books_for(person).exclude(pk__in=quiet_books(person)))
    today = today_of(person, now)
    found = sorted(waiting_for(person, books), key=lambda one: books.index(one.book))
    parts = [
        _part(person, list(group), today)
        for _, group in groupby(found, key=lambda one: one.book.pk)
    ]
    if not parts:
        return None
    count = len({one.item.pk for one in found})
    subject = "One item waits for you" if count == 1 else f"{count} items wait for you"
    only = parts[0].book if len(parts) == 1 else None
    if only:
        subject += f" on {only.title}"
    return _letter(person, subject, parts, only)


def at_once(
    person: Person, found: Sequence[Waiting], now: datetime, doors: dict[int, str]
) -> Letter:
    """What only this person can unblock on one book; `doors` are ways in by item."""
    part = _part(person, list(found), today_of(person, now), doors)
    first = part.lines[0]
    subject = f"{first.label}: {first.reasons[0]}"
    if len(part.lines) > 1:
        subject = f"{len(part.lines)} items wait for you alone"
    return _letter(person, f"{subject} ({part.book.title})", [part], part.book)


def _part(
    person: Person,
    found: list[Waiting],
    today: date,
    doors: dict[int, str] | None = None,
) -> Part:
    book = found[0].book
    lines = []
    for _, group in groupby(found, key=lambda one: one.item.pk):
        same = list(group)
        item = same[0].item
        due = min((one.due for one in same if one.due), default=None)
        path = (doors or {}).get(item.pk) or item_path(same[0])
        lines.append(
            Line(
                label=item.label,
                stage=same[0].stage,
                reasons=tuple(one.why for one in same),
                due=due_told(due, today) if due else "",
                address=settings.BOARD_ADDRESS + path,
            )
        )
    more = max(len(lines) - MOST_LINES, 0)
    return Part(book, tuple(lines[:MOST_LINES]), more, off_address(person, book))


def off_address(person: Person, book: Book | None) -> str:
    """The address that stops these mails, without signing in."""
    path = reverse("post:off", args=[off_token(person, book)])
    return f"{settings.BOARD_ADDRESS}{path}"


def _letter(
    person: Person, subject: str, parts: list[Part], only: Book | None
) -> Letter:
    told = {
        "person": person,
        "parts": parts,
        "house": settings.BOARD_HOUSE,
        "desk": settings.BOARD_ADDRESS + reverse("desk:desk"),
        "own": settings.BOARD_ADDRESS + reverse("post:own"),
    }
    says = tuple(
        f"{part.book.key} {line.label} {line.stage} {'; '.join(line.reasons)} "
        f"{'late' if line.due.startswith('overdue') else ''}"
        for part in parts
        for line in part.lines
    )
    return Letter(
        subject=" ".join(subject.split()),
        text=render_to_string("board/post/mail.txt", told),
        html=render_to_string("board/post/mail.html", told),
        off=off_address(person, only),
        says=says,
    )
