"""Pages to print from: the note sheet, open lines, and the tracing at art size."""

from typing import cast

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from accounts.models import Person
from board.books.queries import book_for, item_for
from board.errors import NotUnderstood
from board.paper.forms import DummyForm, PaperForm, TracingForm
from board.paper.queries import (
    Printed,
    art_of,
    issued_sheet,
    open_in_book,
    open_lines,
)
from board.paper.queries.dummy import as_pdf, dummy_of
from board.paper.queries.note_sheet import note_sheets
from board.paper.queries.tracing import tracing
from board.paper.rules import PAPERS, tiling
from board.tissue.queries import sheets_for


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


def _pdf(body: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(body, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{slugify(name)}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@login_required
@never_cache
@require_safe
def item(request: HttpRequest, key: str) -> HttpResponse:
    """Choose what to print of an item."""
    person = _person(request)
    shown = item_for(person, key)
    art = art_of(shown)
    page = {
        "item": shown,
        "printed": open_lines(person, shown),
        "sheets": sheets_for(person, shown),
        "form": TracingForm(),
        "papers": [(one.name, tiling(art, key).many) for key, one in PAPERS.items()],
        "art": art,
        "size": art.trim,
    }
    return render(request, "board/paper/item.html", page)


@login_required
@never_cache
@require_safe
def note_sheet(request: HttpRequest, key: str) -> HttpResponse:
    """A note sheet as it was issued, as PDF."""
    printed = issued_sheet(_person(request), key)
    title = f"{printed.item.book.title}, {printed.item.label}: {printed.head}"
    paper = PaperForm(request.GET).chosen()
    return _pdf(note_sheets([printed], paper, title), title)


@login_required
@never_cache
@require_safe
def item_lines(request: HttpRequest, key: str) -> HttpResponse:
    """What is open on an item, as PDF."""
    person = _person(request)
    return _lines(request, [open_lines(person, item_for(person, key))], "")


@login_required
@never_cache
@require_safe
def book_lines(request: HttpRequest, key: str) -> HttpResponse:
    """What is open on every item of a book, in page order, as PDF."""
    book = book_for(_person(request), key)
    return _lines(request, open_in_book(_person(request), book), book.title)


def _lines(request: HttpRequest, parts: list[Printed], title: str) -> HttpResponse:
    for_item = f"{parts[0].item.book.title}, {parts[0].item.label}" if parts else ""
    title = f"{title or for_item}: open lines"
    paper = PaperForm(request.GET).chosen()
    return _pdf(note_sheets(parts, paper, title), title)


@login_required
@never_cache
@require_safe
def tracing_of(request: HttpRequest, key: str) -> HttpResponse:
    """The marks of an item at art size, as PDF."""
    person = _person(request)
    shown = item_for(person, key)
    form = TracingForm(request.GET)
    if not form.is_valid():
        raise NotUnderstood("Choose paper and colour of the tracing on its page.")
    body = tracing(open_lines(person, shown), form.wanted())
    return _pdf(body, f"tracing {shown.book.title} {shown.label}")


@login_required
@never_cache
@require_safe
def book(request: HttpRequest, key: str) -> HttpResponse:
    """Choose what to print of the whole book."""
    found = book_for(_person(request), key)
    page = {"book": found, "form": DummyForm(), "pages": -(-found.extent // 4) * 2}
    return render(request, "board/paper/book.html", page)


@login_required
@never_cache
@require_safe
def dummy(request: HttpRequest, key: str) -> HttpResponse:
    """The whole book as a dummy, as PDF."""
    found = book_for(_person(request), key)
    form = DummyForm(request.GET)
    if not form.is_valid():
        raise NotUnderstood("Choose paper and pictures of the dummy on its page.")
    wanted = form.wanted()
    body = as_pdf(dummy_of(found, wanted.stage), wanted)
    return _pdf(body, f"dummy {found.title}")
