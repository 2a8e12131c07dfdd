"""Pages of readings: those that were held, and holding one."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from accounts.models import Person
from board.books.queries import book_for, manuscript_of, roles_of
from board.permits import Act, may
from board.readings import actions
from board.readings.queries import openings_of, readings_of, shown_now
from board.readings.rules import list_hash, minutes


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


@login_required
@require_GET
def listed(request: HttpRequest, key: str) -> HttpResponse:
    """Readings that were held, and whether one was held on what is up now."""
    person = _person(request)
    book = book_for(person, key)
    shown = shown_now(book)
    named, told = list_hash(shown), readings_of(book)
    page = {
        "book": book,
        "shown": shown,
        "named": named,
        "read": [(one, minutes(one.seconds), one.list_hash == named) for one in told],
        "on_this": any(one.list_hash == named for one in told),
        "expected": manuscript_of(book).minutes,
        "may_read": may(Act.READ_THROUGH, roles_of(person, book)),
    }
    return render(request, "board/readings/list.html", page)


@login_required
@require_POST
@never_cache
def begin(request: HttpRequest, key: str) -> HttpResponse:
    """Start the clock and show the book from the first page to the last."""
    person = _person(request)
    book = book_for(person, key, Act.READ_THROUGH)
    word = actions.begin_reading(by=person, book=book)
    page = {
        "book": book,
        "word": word,
        "openings": openings_of(book, person),
        "aloud": request.POST.get("words") == "aloud",
    }
    return render(request, "board/readings/reading.html", page)


@login_required
@require_POST
def end(request: HttpRequest, key: str) -> HttpResponse:
    """Stop the clock and record the reading."""
    person = _person(request)
    book = book_for(person, key, Act.READ_THROUGH)
    made = actions.hold_reading(
        by=person,
        book=book,
        word=request.POST.get("word", ""),
        event=request.POST.get("event", ""),
        remark=request.POST.get("remark", ""),
    )
    messages.success(request, f"Recorded: read in {minutes(made.seconds)}.")
    return redirect("readings:list", key)
