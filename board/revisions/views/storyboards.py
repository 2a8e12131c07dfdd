"""Pages of storyboard sheets: send one, look at its cut, lay the frames out."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.models import Person
from accounts.rules import new_key
from board.books.models import Book
from board.books.queries import book_for
from board.errors import BoardError
from board.permits import Act
from board.revisions.actions import storyboards as actions
from board.revisions.actions.uploads import UploadDraft
from board.revisions.forms import FrameForms, FrameFormSet, SheetForm
from board.revisions.models import StoryboardSheet, Upload
from board.revisions.queries import storyboards as queries
from board.revisions.queries.uploads import on_the_way
from board.revisions.rules import in_mb
from board.revisions.rules.storyboards import items_for
from board.revisions.views import PLAIN_FORM_BYTES, person_of, take_plain_file


def _shown(row: StoryboardSheet, person: Person) -> dict[str, Any]:
    """A sheet as its entry shows it."""
    return {
        "sheet": row,
        "glimpse": queries.glimpse_of(row, person),
        "progress": queries.progress_of(row),
        "size": in_mb(row.size),
    }


@login_required
@require_http_methods(["GET", "POST"])
def sheets(request: HttpRequest, book_key: str) -> HttpResponse:
    """Send a sheet of all thumbnails; see how far the cut of each is."""
    person = person_of(request)
    book = book_for(person, book_key, Act.UPLOAD)
    sent = request.method == "POST"
    form = SheetForm(request.POST, request.FILES) if sent else SheetForm()
    if sent and form.is_valid():
        try:
            return _take(request, person, book, form.cleaned_data["file"])
        except BoardError as refused:
            form.add_error("file", refused.says)
    page = {
        "book": book,
        "form": form,
        "sheets": [_shown(row, person) for row in queries.sheets_of(book, person)],
        "refused": on_the_way(book, person, storyboard=True),
        "open": queries.to_fill(book),
        "plain_most": in_mb(PLAIN_FORM_BYTES),
    }
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "board/revisions/storyboards.html", page, status=status)


def _take(request: HttpRequest, person: Person, book: Book, file: Any) -> HttpResponse:
    draft = UploadDraft(file.name or "", file.size or 0, storyboard=True)
    upload = take_plain_file(person, book, file, draft)
    if upload.state == Upload.State.REFUSED:
        messages.error(request, f"{file.name}: {upload.refused}")
    else:
        messages.success(request, f"{file.name} is here; its frames are looked for.")
    return redirect("revisions:storyboards", book.key)


@login_required
@require_http_methods(["GET", "POST"])
def sheet(request: HttpRequest, key: str) -> HttpResponse:
    """Look at the cut, mend it, say what each frame is, and lay the frames out."""
    person = person_of(request)
    row = queries.sheet_for(person, key)
    items = queries.to_fill(row.book)
    data = request.POST if request.method == "POST" else None
    keys = [frame["item"] for frame in row.frames]
    if not any(keys):
        keys = items_for(len(keys), queries.places_to_fill(items))
    initial = [
        {"item": item, "corners": frame["corners"]}
        for item, frame in zip(keys, row.frames, strict=True)
    ]
    forms = FrameFormSet(
        data, initial=initial, prefix="frame", form_kwargs={"items": items}
    )
    assert isinstance(forms, FrameForms)  # noqa: S101  # its factory's own class
    refusals: list[str] = []
    if data is not None and forms.is_valid():
        try:
            return _lay_out(request, row, forms, person)
        except BoardError as refused:
            refusals = [refused.says]
    page = {
        "book": row.book,
        "one": _shown(row, person),
        "sheet": row,
        "forms": forms,
        "open": items,
        "refusals": refusals,
        "event": new_key(),
    }
    status = 200 if data is None else 422
    return render(request, "board/revisions/storyboard.html", page, status=status)


def _lay_out(
    request: HttpRequest, row: StoryboardSheet, forms: FrameForms, person: Person
) -> HttpResponse:
    frames = forms.frames()
    if request.POST.get("act") == "keep":
        actions.keep_cut(row, frames, by=person)
        messages.success(request, f"The cut of {row.filename} is kept as it is now.")
        return redirect("revisions:storyboard", row.key)
    event = request.POST.get("event", "")
    made = actions.lay_out(row, frames, by=person, event=event)
    count = f"{len(made)} frames go" if len(made) > 1 else "One frame goes"
    messages.success(
        request,
        f"{count} into their folders. Only you see them until you send them up.",
    )
    return redirect("revisions:send", row.book.key)


@login_required
@require_GET
def progress(request: HttpRequest, key: str) -> HttpResponse:
    """How far the cut is: JSON to scripts, else the sheet's entry."""
    person = person_of(request)
    row = queries.sheet_for(person, key)
    if request.headers.get("Accept", "").startswith("application/json"):
        where = reverse("revisions:storyboard", args=[row.key])
        return JsonResponse({"folder": where, **vars(queries.progress_of(row))})
    page = {"one": _shown(row, person), "book": row.book}
    return render(request, "board/revisions/_sheet.html", page)


@login_required
@require_POST
def put_away(request: HttpRequest, key: str) -> HttpResponse:
    """Take a sheet off the list; the page offers to undo it."""
    person = person_of(request)
    row = queries.sheet_for(person, key)
    away = not request.POST.get("undo")
    actions.put_sheet_away(row, by=person, away=away)
    word = "put away; undo it below" if away else "on the list again"
    messages.success(request, f"{row.filename} is {word}.")
    return redirect("revisions:storyboards", row.book.key)
