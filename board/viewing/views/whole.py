"""Acts on a whole book: typed, then shown with what they would touch, then done."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from accounts.models import Person
from board.books.models import Book
from board.books.queries import book_for
from board.books.rules import STAGES
from board.errors import BoardError, NotFound, NotPermitted, Stale
from board.permits import Act
from board.slips.actions import formats, stations
from board.slips.actions.ripples import RippleDiffers, foreseen
from board.viewing.forms.whole import FormatForm, StationsForm, WholeForm
from board.viewing.rules import new_event
from board.viewing.views.ripples import Foreseen, hold_to, told_ripple
from board.viewing.views.room import person_of

Do = Callable[[], object]


@dataclass
class Step:
    """Where such a page stands: typed, shown, or stopped with reasons."""

    ripple: Foreseen | None = None
    reasons: tuple[str, ...] = ()
    status: int = 200
    now: dict[str, str] = field(default_factory=dict)
    done: bool = False


def taken(request: HttpRequest, form: WholeForm, book: Book, do: Do) -> Step:
    """Look at what the act would touch, or do it exactly so; `do` runs the act."""
    if request.method != "POST":
        return Step()
    if not form.is_valid():
        return Step(status=422, reasons=_wrong(form))
    try:
        return _looked_or_done(request, form, book, do)
    except (NotFound, NotPermitted):
        raise
    except RippleDiffers as differs:
        step = _shown(form, told_ripple(book, differs.ripple))
        step.reasons, step.status = differs.reasons, differs.status
    except Stale as stale:
        newer = Book.objects.get(pk=book.pk)
        version = ({"version": newer.version} | form.as_it_is(newer))["version"]
        _type(form, version=str(version), ripple="")
        step = Step(reasons=stale.reasons, status=stale.status, now=stale.now)
    except BoardError as error:
        step = Step(reasons=error.reasons, status=error.status)
    return step


def _looked_or_done(request: HttpRequest, form: WholeForm, book: Book, do: Do) -> Step:
    digest = form.cleaned_data["ripple"]
    if request.POST.get("do") == "keep" and digest:
        event = form.cleaned_data["event"]
        hold_to(digest, person_of(request), book, event, do)
        return Step(done=True)
    return _shown(form, told_ripple(book, foreseen(book, do)))


def _shown(form: WholeForm, ripple: Foreseen) -> Step:
    _type(form, ripple=ripple.digest)
    return Step(ripple=ripple)


def _type(form: WholeForm, **values: str) -> None:
    form.data = {**dict(form.data.items()), **values}


def _wrong(form: WholeForm) -> tuple[str, ...]:
    found = []
    for name, errors in form.errors.items():
        label = form.fields[name].label if name in form.fields else ""
        found += [f"{label}: {error}" if label else str(error) for error in errors]
    return tuple(dict.fromkeys(found))


@login_required
@require_http_methods(["GET", "POST"])
def another_format(request: HttpRequest, key: str) -> HttpResponse:
    """Trim, bleed or extent; production says, everybody it bears on looks again."""
    person = person_of(request)
    book = book_for(person, key, Act.CHANGE_FORMAT)
    form = FormatForm(request.POST or None, book=book, initial=_event())

    def do() -> object:
        return formats.change_format(
            by=person,
            book=book,
            draft=form.draft(),
            reasons=form.reasons(),
            version=form.cleaned_data["version"],
            event=form.cleaned_data["event"],
        )

    step = taken(request, form, book, do)
    return _answer(request, "another_format", person, book, (form, step))


@login_required
@require_http_methods(["GET", "POST"])
def set_stations(request: HttpRequest, key: str) -> HttpResponse:
    """Who must look at what, at which stage."""
    person = person_of(request)
    book = book_for(person, key, Act.SET_STATIONS)
    form = StationsForm(request.POST or None, book=book, initial=_event())

    def do() -> object:
        return stations.set_stations(
            by=person,
            book=book,
            draft=form.draft(),
            version=form.cleaned_data["version"],
            event=form.cleaned_data["event"],
        )

    step = taken(request, form, book, do)
    return _answer(request, "stations", person, book, (form, step))


def _event() -> dict[str, str]:
    return {"event": new_event()}


def _answer(
    request: HttpRequest,
    name: str,
    person: Person,
    book: Book,
    told: tuple[WholeForm, Step],
) -> HttpResponse:
    form, step = told
    if step.done:
        messages.success(request, "Kept. What it touched is in the daybook.")
        return redirect(reverse("books:book", args=[book.key]))
    page: dict[str, Any] = {"form": form, "step": step, "stages": STAGES}
    page["book"] = Book.objects.get(pk=book.pk)
    return render(request, f"board/viewing/{name}.html", page, status=step.status)
