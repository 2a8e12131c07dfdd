"""The wall's page, and what is decided there for the whole book."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from accounts.models import Person
from board.books.queries import book_for, books_for
from board.errors import NotFound, NotUnderstood
from board.permits import Act, may, require
from board.slips.actions.stages import open_for_all
from board.slips.queries.sentences import knows
from board.wall.forms import OpenStageForm
from board.wall.queries import nothing_open, summary, wall_of


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
    hung = wall_of(book, to)
    opens = may(Act.OPEN_STAGE, to.roles)
    page = {
        "book": book,
        "wall": hung,
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
