"""Describing pictures for who cannot see them, and taking the words to the e-book."""

import csv

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_GET, require_http_methods

from board.books.actions.describing import LONGEST, describe
from board.books.models import Book, Item
from board.books.queries import book_for, roles_of
from board.clippings.rules import plain_cell
from board.errors import BoardError, NotFound, NotPermitted
from board.permits import Act, may
from board.viewing.queries.descriptions import HEADINGS, descriptions_of
from board.viewing.views.room import person_of


@login_required
@require_http_methods(["GET", "POST"])
def descriptions(request: HttpRequest, key: str) -> HttpResponse:
    """Every picture of the book with what it shows, in the editor's words."""
    person = person_of(request)
    act = Act.EDIT_TEXT if request.method == "POST" else Act.LOOK
    book = book_for(person, key, act)
    wrong: dict[str, str] = {}
    status = 200
    if request.method == "POST":
        try:
            item = _kept(request, book)
        except (NotFound, NotPermitted):
            raise
        except BoardError as error:
            wrong = {"item": request.POST.get("item", ""), "says": error.says}
            wrong["words"] = request.POST.get("words", "")
            status = error.status
        else:
            messages.success(request, f"The description of {item.label} is kept.")
            return redirect(
                reverse("viewing:descriptions", args=[key]) + f"#{item.key}"
            )
    rows = descriptions_of(book, person)
    page = {
        "book": book,
        "rows": rows,
        "missing": sum(not row.item.alt_text for row in rows),
        "longest": LONGEST,
        "may_describe": may(Act.EDIT_TEXT, roles_of(person, book)),
        "wrong": wrong,
    }
    return render(request, "board/viewing/descriptions.html", page, status=status)


def _kept(request: HttpRequest, book: Book) -> Item:
    sent = request.POST
    item = book.items.filter(key=sent.get("item", "")).first()
    if item is None:
        raise NotFound
    version = sent.get("version", "")
    return describe(
        item,
        sent.get("words", ""),
        by=person_of(request),
        version=int(version) if version.isdecimal() else 0,
        event=sent.get("event", "")[:40],
    )


@login_required
@require_GET
def as_csv(request: HttpRequest, key: str) -> HttpResponse:
    """The descriptions for whoever makes the e-book (RFC 4180)."""
    person = person_of(request)
    book = book_for(person, key)
    answer = HttpResponse("\ufeff", content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = _saved_as(book, "csv")
    rows = csv.writer(answer)
    rows.writerow(HEADINGS)
    for row in descriptions_of(book, person):
        rows.writerow([plain_cell(cell) for cell in row.cells])
    return answer


@login_required
@require_GET
def as_json(request: HttpRequest, key: str) -> HttpResponse:
    """The same as JSON, the names of the fields as in the first line of the CSV."""
    person = person_of(request)
    book = book_for(person, key)
    names = [name.replace(" ", "_") for name in HEADINGS]
    rows = descriptions_of(book, person)
    told = [dict(zip(names, row.cells, strict=True)) for row in rows]
    answer = JsonResponse({"book": book.title, "items": told})
    answer["Content-Disposition"] = _saved_as(book, "json")
    return answer


def _saved_as(book: Book, kind: str) -> str:
    name = slugify(book.title) or "book"
    return f'attachment; filename="{name}-descriptions.{kind}"'
