"""The wall's page, and what is decided there for the whole book."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.models import Person
from board.books.actions.describing import LONGEST_LINE, say_what_picture_adds
from board.books.models import Book, Item
from board.books.queries import (
    book_for,
    books_for,
    roles_of,
)
from board.errors import BoardError, NotFound, NotPermitted, NotUnderstood
from board.permits import Act, may, require
from board.slips.actions.stages import open_for_all
from board.slips.queries.sentences import knows
from board.wall.forms import USUAL, HangForm, OpenStageForm
from board.wall.queries import nothing_open, summary, those, wall_of
from board.wall.queries.script import script_of
from board.wall.queries.tracks import tracks_of


@login_required
@require_GET
def wall(request: HttpRequest, key: str) -> HttpResponse:
    """Every item of the book in order, hung on its line."""
    person = cast("Person", request.user)
    book = books_for(person).filter(key=key).first()
    if book is None:
        raise NotFound
    to = knows(person, book)  # the roles come with the names, so one query is spared
    require(Act.LOOK, to.roles)
    form = HangForm({**USUAL, **request.GET.dict()})
    hanging = form.hanging()
    hung = wall_of(book, to, hanging)
    opens = may(Act.OPEN_STAGE, to.roles)
    page = {
        "book": book,
        "wall": those(hung, hanging.only, to),
        "hanging": hanging,
        "hang_form": form,
        "summary": summary(hung),
        "nothing_open": nothing_open(hung),
        "stage_form": OpenStageForm(initial={"stage": "thumbnails"}) if opens else None,
        "may_upload": may(Act.UPLOAD, to.roles),
    }
    return render(request, "board/wall/wall.html", page)


@login_required
@require_POST
def open_stage(request: HttpRequest, key: str) -> HttpResponse:
    """Open a stage on every item of the book that can take it."""
    person = cast("Person", request.user)
    book = book_for(person, key, Act.OPEN_STAGE)
    form = OpenStageForm(request.POST)
    if not form.is_valid():
        raise NotUnderstood("Choose which stage to open: it is the first question.")
    count = open_for_all(
        by=person,
        book=book,
        event=request.POST.get("event", ""),
        stage=form.cleaned_data["stage"],
        reason=form.cleaned_data["reason"],
    )
    if not count:
        messages.warning(
            request,
            f"No item can take {form.cleaned_data['stage']} now: the stage before it "
            "is not OK yet, or it is open already. Where the book skips earlier "
            "stages, say why below.",
        )
        return redirect("wall:wall", key)
    things = "item has" if count == 1 else "items have"
    told = f"{count} {things} {form.cleaned_data['stage']} open now."
    messages.success(request, told)
    return redirect("wall:wall", key)


@login_required
@require_http_methods(["GET", "POST"])
def tracks(request: HttpRequest, key: str) -> HttpResponse:
    """Words and pictures side by side; a line for what each picture adds."""
    person = cast("Person", request.user)
    act = Act.SAY_WHAT_PICTURE_ADDS if request.method == "POST" else Act.LOOK
    book = book_for(person, key, act)
    wrong: dict[str, str] = {}
    if request.method == "POST":
        try:
            item = _line_kept(request, book)
        except (NotFound, NotPermitted):
            raise
        except BoardError as error:
            wrong = {"item": request.POST.get("item", ""), "says": error.says}
            wrong["words"] = request.POST.get("words", "")
        else:
            messages.success(request, f"The line of {item.label} is kept.")
            return redirect(reverse("wall:tracks", args=[key]) + f"#item-{item.key}")
    told = tracks_of(book, person)
    page = {
        "book": book,
        "told": told,
        "longest": LONGEST_LINE,
        "may_say": may(Act.SAY_WHAT_PICTURE_ADDS, roles_of(person, book)),
        "wrong": wrong,
    }
    return render(request, "board/wall/tracks.html", page, status=422 if wrong else 200)


def _line_kept(request: HttpRequest, book: Book) -> Item:
    sent = request.POST
    item = book.items.filter(key=sent.get("item", "")).first()
    if item is None:
        raise NotUnderstood("Say which item the line is for.")
    version = sent.get("version", "")
    return say_what_picture_adds(
        item,
        sent.get("words", ""),
        by=cast("Person", request.user),
        version=int(version) if version.isdecimal() else 0,
        event=sent.get("event", "")[:40],
    )


@login_required
@require_GET
def colours(request: HttpRequest, key: str) -> HttpResponse:
    """The colour script: main colours, tones and likeness through the book."""
    person = cast("Person", request.user)
    book = book_for(person, key)
    page = {"book": book, "script": script_of(book, person)}
    return render(request, "board/wall/colours.html", page)
