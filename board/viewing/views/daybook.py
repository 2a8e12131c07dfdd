"""The daybook as each reader may read it, by book and by item."""

from dataclasses import dataclass
from datetime import UTC, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import book_for, item_for
from board.permits import Act
from board.slips.queries.record import Told, daybook_for
from board.viewing.queries.printed import as_pdf
from board.viewing.rules.record import CAUTION, CODES, PRACTICE
from board.viewing.views.room import person_of


@dataclass(frozen=True)
class Written:
    """An entry with its moment in the reader's zone and in UTC."""

    told: Told
    day: str
    here: str
    utc: str


@login_required
@require_GET
def of_item(request: HttpRequest, key: str) -> HttpResponse:
    """What happened to one item."""
    item = item_for(person_of(request), key, Act.READ_DAYBOOK)
    return _page(request, item.book, item)


@login_required
@require_GET
def of_book(request: HttpRequest, key: str) -> HttpResponse:
    """What happened on the whole book."""
    book = book_for(person_of(request), key, Act.READ_DAYBOOK)
    return _page(request, book, None)


@login_required
@require_GET
def item_pdf(request: HttpRequest, key: str) -> HttpResponse:
    """The same of one item, to be kept or printed."""
    item = item_for(person_of(request), key, Act.READ_DAYBOOK)
    return _pdf(request, item.book, item)


@login_required
@require_GET
def book_pdf(request: HttpRequest, key: str) -> HttpResponse:
    """The same of the whole book."""
    book = book_for(person_of(request), key, Act.READ_DAYBOOK)
    return _pdf(request, book, None)


def _pdf(request: HttpRequest, book: Book, item: Item | None) -> HttpResponse:
    person = person_of(request)
    title = f"Daybook: {book.title}" + (f", {item.label}" if item else "")
    body = as_pdf(title, daybook_for(person, book, item), _zone(person))
    answer = HttpResponse(body, content_type="application/pdf")
    name = slugify(f"{book.title} {item.label if item else ''}") or "book"
    answer["Content-Disposition"] = f'attachment; filename="{name}-daybook.pdf"'
    return answer


def _page(request: HttpRequest, book: Book, item: Item | None) -> HttpResponse:
    person = person_of(request)
    zone = _zone(person)
    told = daybook_for(person, book, item)
    page = {
        "book": book,
        "item": item,
        "zone": str(zone),
        "cautions": (CAUTION, PRACTICE, CODES),
        "entries": [_written(one, zone) for one in reversed(told)],
    }
    return render(request, "board/viewing/daybook.html", page)


def _zone(person: Person) -> tzinfo:
    try:
        return ZoneInfo(person.time_zone or "UTC")
    except (ZoneInfoNotFoundError, ValueError):
        return UTC


def _written(told: Told, zone: tzinfo) -> Written:
    here, utc = told.at.astimezone(zone), told.at.astimezone(UTC)
    return Written(
        told=told,
        day=f"{here:%A} {here.day} {here:%B %Y}",
        here=f"{here:%H:%M}",
        utc=f"{utc:%Y-%m-%d %H:%M} UTC",
    )
