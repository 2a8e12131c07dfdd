"""Pages of sources: the list, a record, its photographs, credits and the log."""

import csv
from pathlib import Path
from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import book_for, item_for, plan_of, roles_of
from board.clippings.actions import records
from board.clippings.actions.documents import SentPaper, keep_document
from board.clippings.forms import (
    ClearanceForm,
    ContactForm,
    PhotoForm,
    SourceForm,
    UseForm,
)
from board.clippings.models import Clipping, Use
from board.clippings.queries import (
    documents_of,
    layered,
    photo_address,
    source_for,
    told_of_book,
    use_area,
    uses_of,
)
from board.clippings.queries.log import as_pdf
from board.clippings.queries.pages import (
    HEADINGS,
    credit_lines,
    holds,
    log_rows,
    without_wording,
)
from board.clippings.queries.searching import offers_shown, searched
from board.clippings.rules import CAUTION, box_of, outline, plain_cell
from board.daybook.actions import this_moment
from board.errors import NotUnderstood
from board.permits import Act, may
from board.repro.store import work_folder
from board.revisions.queries import called, seen_by


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


def _event(request: HttpRequest) -> str:
    return request.POST.get("event", "")


def _allowed(person: Person, book: Book) -> dict[str, bool]:
    roles = roles_of(person, book)
    return {
        "may_read": may(Act.READ_SOURCES, roles),
        "may_enter": may(Act.ENTER_SOURCE, roles),
        "may_judge": may(Act.JUDGE_SOURCE, roles),
    }


@login_required
@require_GET
def listed(request: HttpRequest, key: str) -> HttpResponse:
    """Every source with its clearance, where it lies and how large."""
    person = _person(request)
    book = book_for(person, key)
    allowed = _allowed(person, book)
    told = told_of_book(book)
    page = allowed | {
        "book": book,
        "told": told,
        "not_cleared": [one for one in told if one.areas and not one.is_cleared],
        "layered": layered(book) if allowed["may_read"] else [],
        "offers": offers_shown(book, person) if allowed["may_enter"] else [],
        "searched": searched(book) if allowed["may_enter"] else None,
        "caution": CAUTION,
    }
    return render(request, "board/clippings/list.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest, key: str) -> HttpResponse:
    """Enter a source."""
    person = _person(request)
    book = book_for(person, key, Act.ENTER_SOURCE)
    judges = may(Act.JUDGE_SOURCE, roles_of(person, book))
    form = SourceForm(request.POST or None, judges=judges)
    if form.is_valid():
        made = records.enter_source(
            by=person, book=book, draft=form.draft(), event=_event(request)
        )
        messages.success(request, f"{made.code} is entered; its clearance is unknown.")
        return redirect("sources:source", made.key)
    page = {"book": book, "form": form, "caution": CAUTION}
    status = 422 if form.errors else 200
    return render(request, "board/clippings/record.html", page, status=status)


@login_required
@require_GET
def source(request: HttpRequest, key: str) -> HttpResponse:
    """One source: its record, photographs, contacts, uses and what falls with it."""
    person = _person(request)
    found = source_for(person, key)
    today = this_moment().date()
    told = told_of_book(found.book, [found])[0]
    page = _allowed(person, found.book) | {
        "book": found.book,
        "source": found,
        "told": told,
        "holds": holds(found),
        "uses": [_use_row(use, person, now=now) for use, now in uses_of(found, person)],
        "photos": [
            (photo, photo_address(photo, person)) for photo in found.photos.all()
        ],
        "documents": documents_of(found, person),
        "contacts": found.contacts.select_related("by"),
        "judgements": found.judgements.select_related("by"),
        "judging": ClearanceForm(initial={"clearance": found.clearance}),
        "photo": PhotoForm(),
        "contact": ContactForm(initial={"on": today}),
        "items": found.book.items.filter(set_aside=False).order_by("position"),
        "caution": CAUTION,
    }
    return render(request, "board/clippings/source.html", page)


def _use_row(use: Use, person: Person, *, now: bool) -> dict[str, object]:
    revisions = seen_by(person, use.item).order_by("uploaded_at")
    return {
        "use": use,
        "now": now,
        "cm2": use_area(use, use.item),
        "pictures": [(one.key, called(one)) for one in revisions],
        "first": called(use.first_shown) if use.first_shown else "",
        "gone": called(use.gone_from)
        if use.gone_from and (use.gone_from.is_up or revisions.contains(use.gone_from))
        else "",
    }


@login_required
@require_http_methods(["GET", "POST"])
def record(request: HttpRequest, key: str) -> HttpResponse:
    """Change the record of a source."""
    person = _person(request)
    found = source_for(person, key, Act.ENTER_SOURCE)
    version = found.version
    judges = may(Act.JUDGE_SOURCE, roles_of(person, found.book))
    form = SourceForm(
        request.POST or None,
        instance=found,
        judges=judges,
        initial={"version": version},
    )
    if form.is_valid():
        records.change_source(
            by=person,
            source=found,
            draft=form.draft(),
            version=form.cleaned_data["version"] or 0,
            event=_event(request),
        )
        messages.success(request, "Kept.")
        return redirect("sources:source", key)
    page = {"book": found.book, "source": found, "form": form, "caution": CAUTION}
    status = 422 if form.errors else 200
    return render(request, "board/clippings/record.html", page, status=status)


@login_required
@require_POST
def photographs(request: HttpRequest, key: str) -> HttpResponse:
    """Take in a photograph of a source."""
    person = _person(request)
    found = source_for(person, key, Act.ENTER_SOURCE)
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        raise NotUnderstood("Choose a photograph, and say which side it shows.")
    picture = form.cleaned_data["picture"]
    with work_folder() as folder:
        path = folder / "photograph"
        _write(picture, path)
        sent = records.Sent(path, str(picture.name), form.cleaned_data["side"])
        records.keep_photo(by=person, source=found, sent=sent, event=_event(request))
    messages.success(request, "The photograph is kept.")
    return redirect("sources:source", key)


def _write(picture: UploadedFile[bytes], path: Path) -> None:
    with path.open("wb") as file:
        for part in picture.chunks():
            file.write(part)


@login_required
@require_POST
def documents(request: HttpRequest, key: str) -> HttpResponse:
    """Keep the paper that a grant is written on."""
    person = _person(request)
    found = source_for(person, key, Act.JUDGE_SOURCE)
    paper = request.FILES.get("document")
    if not isinstance(paper, UploadedFile):
        raise NotUnderstood("Choose the document first.")
    with work_folder() as folder:
        path = folder / "document"
        _write(paper, path)
        sent = SentPaper(path, str(paper.name))
        keep_document(by=person, source=found, sent=sent, event=_event(request))
    messages.success(request, "The document is kept.")
    return redirect("sources:source", key)


@login_required
@require_POST
def contacts(request: HttpRequest, key: str) -> HttpResponse:
    """Add to the log of contacts."""
    person = _person(request)
    found = source_for(person, key, Act.ENTER_SOURCE)
    form = ContactForm(request.POST)
    if not form.is_valid():
        raise NotUnderstood("A contact has a day, a name and what was said.")
    spoken = records.Spoken(**form.cleaned_data)
    records.log_contact(by=person, source=found, spoken=spoken, event=_event(request))
    messages.success(request, "Logged.")
    return redirect("sources:source", key)


@login_required
@require_GET
def mark(request: HttpRequest, key: str, item: str) -> HttpResponse:
    """Mark where the source lies on one item."""
    person = _person(request)
    found = source_for(person, key, Act.ENTER_SOURCE)
    on = item_for(person, item, Act.ENTER_SOURCE)
    if on.book_id != found.book_id:
        raise NotUnderstood("That source belongs to another book.")
    page = {
        "book": found.book,
        "source": found,
        "item": on,
        "form": UseForm(),
        "plan": plan_of(on),
        "boxes": [(laid, None) for laid in _laid(found, on, person)],
        "pictures": [
            (one.key, called(one))
            for one in seen_by(person, on).order_by("uploaded_at")
        ],
        "caution": CAUTION,
    }
    return render(request, "board/clippings/mark.html", page)


def _laid(source: Clipping, item: Item, person: Person) -> list[dict[str, object]]:
    """The boxes that lie there already, as the plan draws them."""
    found = []
    for use, _now in uses_of(source, person):
        if use.item_id == item.pk and use.mark:
            left, top, right, bottom = box_of(outline(use.mark, use.points))
            size = {"width": right - left, "height": bottom - top}
            found.append({"key": use.key, "sort": "focal", "x": left, "y": top, **size})
    return found


@login_required
@require_GET
def credit_page(request: HttpRequest, key: str) -> HttpResponse:
    """The credit lines that grants ask for, to be set in the book."""
    person = _person(request)
    book = book_for(person, key, Act.READ_SOURCES)
    page = {
        "book": book,
        "lines": credit_lines(book),
        "missing": without_wording(book),
        "caution": CAUTION,
    }
    return render(request, "board/clippings/credits.html", page)


@login_required
@require_GET
def log_csv(request: HttpRequest, key: str) -> HttpResponse:
    """The permissions log for a spreadsheet (RFC 4180; no cell runs as a formula)."""
    book = book_for(_person(request), key, Act.READ_SOURCES)
    answer = HttpResponse("\ufeff", content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = _saved_as(book, "csv")
    rows = csv.writer(answer)
    rows.writerow(HEADINGS)
    for row in log_rows(book):
        rows.writerow([plain_cell(cell) for cell in row])
    return answer


@login_required
@require_GET
def log_pdf(request: HttpRequest, key: str) -> HttpResponse:
    """The permissions log to be printed or sent to counsel."""
    book = book_for(_person(request), key, Act.READ_SOURCES)
    answer = HttpResponse(as_pdf(book, this_moment()), content_type="application/pdf")
    answer["Content-Disposition"] = _saved_as(book, "pdf")
    return answer


def _saved_as(book: Book, kind: str) -> str:
    name = slugify(book.title) or "book"
    return f'attachment; filename="{name}-permissions.{kind}"'
