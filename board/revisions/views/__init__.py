"""Pages of the folder: send files, match them, look, lay again, put away."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.models import Person
from accounts.rules import new_key
from board.books.models import Book, Item
from board.books.queries import book_for, item_for
from board.errors import BoardError, TooLarge
from board.permits import Act
from board.revisions import actions, queries
from board.revisions.actions import uploads
from board.revisions.forms import LayForm, MatchForm, SendForm
from board.revisions.models import Revision, Upload
from board.revisions.queries import uploads as incoming
from board.revisions.queries.originals import original_of
from board.revisions.rules import in_mb

PLAIN_FORM_BYTES = 128_000_000


@dataclass(frozen=True)
class Lying:
    """A revision in the folder as its page shows it."""

    revision: Revision
    picture: queries.Picture | None
    how: str
    progress: queries.Progress
    size: str
    event: str

    @property
    def doubt(self) -> str:
        return queries.doubt_of(self.revision) if self.is_laid else ""

    @property
    def is_laid(self) -> bool:
        return self.picture is not None


def _lying(revision: Revision, person: Person) -> Lying:
    return Lying(
        revision,
        queries.picture_of(revision, person),
        queries.how_laid(revision),
        queries.progress_of(revision),
        in_mb(revision.size),
        new_key(),
    )


def person_of(request: HttpRequest) -> Person:
    """Give the one who is signed in."""
    assert isinstance(request.user, Person)  # noqa: S101  # login_required saw to it
    return request.user


@login_required
@require_http_methods(["GET", "POST"])
def send(request: HttpRequest, book_key: str) -> HttpResponse:
    """Drop or choose files; see what is on its way and what lies in the folder."""
    person = person_of(request)
    book = book_for(person, book_key, Act.UPLOAD)
    asked = {"item": request.GET.get("item", ""), "declared": "bled"}
    form = SendForm(request.POST or None, book=book, initial=asked)
    if request.method == "POST" and form.is_valid():
        return _take_plain_files(request, person, book, form.cleaned_data)
    lying = [_lying(row, person) for row in queries.in_folder(book, person)]
    by_item = [
        (item, list(rows))
        for item, rows in groupby(lying, key=lambda one: one.revision.item)
    ]
    page = {
        "book": book,
        "form": form,
        "on_the_way": _on_the_way(book, person),
        "by_item": by_item,
        "most": in_mb(settings.BOARD_MAX_BYTES),
        "plain_most": in_mb(PLAIN_FORM_BYTES),
    }
    return render(request, "board/revisions/send.html", page)


def _on_the_way(book: Book, person: Person) -> list[dict[str, Any]]:
    rows = []
    for upload in incoming.on_the_way(book, person):
        here, length = in_mb(incoming.received(upload)), in_mb(upload.length)
        rows.append({"upload": upload, "here": here, "length": length})
    return rows


def _take_plain_files(
    request: HttpRequest, person: Person, book: Book, said: dict[str, Any]
) -> HttpResponse:
    """Take files from a plain form, for browsers without scripts."""
    files = request.FILES.getlist("files")
    if not files:
        messages.error(request, "No file was chosen. Choose one or more, then send.")
    for file in files:
        draft = uploads.UploadDraft(
            file.name or "", file.size or 0, said["item"], "", said["declared"]
        )
        try:
            upload = take_plain_file(person, book, file, draft)
        except BoardError as refused:
            messages.error(request, f"{file.name}: {refused.says}")
            continue
        if upload.state == Upload.State.REFUSED:
            messages.error(request, f"{file.name}: {upload.refused}")
        else:
            messages.success(request, f"{file.name} is here.")
    waiting = incoming.on_the_way(book, person).filter(state=Upload.State.ARRIVED)
    where = "match" if waiting.exists() else "send"
    return redirect(f"revisions:{where}", book.key)


def take_plain_file(
    person: Person, book: Book, file: Any, draft: uploads.UploadDraft
) -> Upload:
    """Take one file of a plain form, unless it is too large for one."""
    if draft.length > PLAIN_FORM_BYTES:
        raise TooLarge(
            f"A plain form takes up to {in_mb(PLAIN_FORM_BYTES)}. "
            "Send larger files from a browser with scripts; those also resume."
        )
    upload = uploads.start_upload(by=person, book=book, draft=draft)
    uploads.receive_whole(upload, file.chunks())
    upload.refresh_from_db()
    return upload


@login_required
@require_http_methods(["GET", "POST"])
def match(request: HttpRequest, book_key: str) -> HttpResponse:
    """Correct and confirm which item each arrived file is for."""
    person = person_of(request)
    book = book_for(person, book_key, Act.UPLOAD)
    waiting = incoming.on_the_way(book, person).exclude(state=Upload.State.REFUSED)
    data = request.POST or None
    rows = [
        {
            "upload": upload,
            "form": MatchForm(data, upload=upload, book=book),
            "why": incoming.guess_for(book, upload.filename)[2].reason,
        }
        for upload in waiting
    ]
    if request.method == "POST":
        refused = [row for row in rows if not _confirm(request, row, person)]
        if not refused:
            return redirect("revisions:send", book.key)
        rows = refused
    page = {"book": book, "rows": rows, "event": new_key()}
    return render(request, "board/revisions/match.html", page)


def _confirm(request: HttpRequest, row: dict[str, Any], person: Person) -> bool:
    """Put one matched file into its folder; False leaves its row on the page."""
    form: MatchForm = row["form"]
    if not form.is_valid():
        return False
    said = form.cleaned_data
    if not said["take"]:
        return True
    upload: Upload = row["upload"]
    try:
        matched = uploads.correct_match(
            upload,
            item=said["item"],
            stage=said["stage"],
            declared=said["declared"],
            by=person,
        )
        uploads.confirm_match(matched, by=person, event=f"match-{upload.key}")
    except BoardError as refused:
        form.add_error(None, refused.says)
        return False
    messages.success(request, f"{upload.filename} goes to {said['item'].label}.")
    return True


@login_required
@require_POST
def end(request: HttpRequest, key: str) -> HttpResponse:
    """Leave a file out: it is dropped, or stops being sent."""
    upload = incoming.upload_for(person_of(request), key)
    uploads.end_upload(upload)
    messages.success(request, f"{upload.filename} is left out.")
    return redirect("revisions:send", upload.book_key)


@login_required
@require_GET
def folder(request: HttpRequest, item_key: str) -> HttpResponse:
    """What lies in an item's folder, how it lies, and what to do with it."""
    person = person_of(request)
    item = item_for(person, item_key, Act.UPLOAD)
    page = {
        "book": item.book,
        "item": item,
        "lying": [_lying(row, person) for row in queries.folder_of(item, person)],
        "away": [(row, new_key()) for row in queries.put_away_in(item, person)],
        "stage": incoming.open_stage(item),
        "up": queries.sent_up(item).last(),
    }
    return render(request, "board/revisions/folder.html", page)


@login_required
@require_GET
def progress(request: HttpRequest, key: str) -> HttpResponse:
    """How far a preparation is: JSON to scripts, else the revision's fragment."""
    person = person_of(request)
    revision = queries.revision_for(person, key)
    if request.headers.get("Accept", "").startswith("application/json"):
        how_far = queries.progress_of(revision)
        return JsonResponse({"folder": _folder_of(revision.item), **vars(how_far)})
    lying = _lying(revision, person)
    page = {"one": lying, "book": revision.item.book, "item": revision.item}
    return render(request, "board/revisions/_lying.html", page)


def _folder_of(item: Item) -> str:
    return reverse("revisions:folder", args=[item.key])


@login_required
@require_http_methods(["GET", "POST"])
def lay(request: HttpRequest, key: str) -> HttpResponse:
    """Lay a revision again: by itself, by its word, by corners or by pairs."""
    person = person_of(request)
    revision = queries.revision_for(person, key, Act.UPLOAD)
    form = LayForm(request.POST or None, revision=revision)
    if request.method == "POST" and form.is_valid():
        event = request.POST.get("event", "")
        try:
            actions.lay_again(revision, laying=form.laying(), by=person, event=event)
            return redirect(_folder_of(revision.item))
        except BoardError as refused:
            form.add_error(None, refused.says)
    older = queries.reference_for(revision)
    page = {
        "book": revision.item.book,
        "item": revision.item,
        "revision": revision,
        "form": form,
        "how": queries.how_laid(revision),
        "glimpse": queries.glimpse_of(revision, person),
        "older": older,
        "under": queries.picture_of(older, person) if older else None,
        "older_called": queries.called(older) if older else "",
        "event": new_key(),
    }
    return render(request, "board/revisions/lay.html", page)


@login_required
@require_POST
def put_away(request: HttpRequest, key: str) -> HttpResponse:
    """Take a revision out of the folder; the page offers to undo it."""
    person = person_of(request)
    revision = queries.revision_for(person, key, Act.UPLOAD)
    event = request.POST.get("event", "")
    if request.POST.get("undo"):
        actions.take_out_again(revision, by=person, event=event)
        messages.success(request, f"{revision.filename} lies in the folder again.")
    else:
        actions.put_away(revision, by=person, event=event)
        messages.success(request, f"{revision.filename} is put away; undo it below.")
    return redirect(_folder_of(revision.item))


@login_required
@require_GET
def original(request: HttpRequest, key: str) -> HttpResponse:
    """Go to the original file, byte for byte as it was sent."""
    person = person_of(request)
    revision = queries.revision_for(person, key, Act.DOWNLOAD_ORIGINAL)
    return redirect(original_of(revision, person))
