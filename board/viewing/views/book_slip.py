"""The book slip: the ordered list that four people initial, then the printer's."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from accounts.models import Person
from board.books.models import Book, ItemStage
from board.books.queries import book_for, roles_of
from board.books.queries.deputies import signing_roles
from board.books.rules import Stage, Standing
from board.errors import BoardError, NotFound, NotPermitted
from board.permits import Act, may, require
from board.slips.actions import books
from board.slips.actions.ripples import foreseen
from board.slips.models import BookInitial
from board.slips.queries.book import BookStanding, book_standing, listing_of
from board.slips.queries.sentences import Knows, knows
from board.slips.rules.book import STATIONS
from board.viewing import forms
from board.viewing.rules import new_event
from board.viewing.views.ripples import NOT_SAID, Foreseen, hold_to, told_ripple
from board.viewing.views.room import person_of

STAGES = (Stage.SKETCH, Stage.FINAL)
Told = dict[str, Any]  # a form's cleaned fields, whatever their kinds


@dataclass(frozen=True)
class BookAct:
    """One act on a book slip: who may, its form, what it does, what is said after."""

    act: Act
    form: type[forms.BookForm]
    do: Callable[[Person, Book, Stage, Told], object]
    done: str


def _initial(by: Person, book: Book, stage: Stage, told: Told) -> object:
    return books.initial_book(by=by, book=book, stage=stage.value, **told)


def _hand_over(by: Person, book: Book, _stage: Stage, told: Told) -> object:
    return books.hand_over(by=by, book=book, event=told["event"])


def _recall(by: Person, book: Book, _stage: Stage, told: Told) -> object:
    draft = {name: told[name] for name in ("reason", "told", "cost")}
    event = told["event"]

    def do() -> object:
        return books.recall(by=by, book=book, draft=draft, event=event)

    return hold_to(told["ripple"], by, book, event, do)


def _foreseen_recall(by: Person, book: Book) -> Foreseen:
    """What a recall would touch now, whatever words go with it."""
    draft = dict.fromkeys(("reason", "told", "cost"), NOT_SAID)

    def do() -> object:
        return books.recall(by=by, book=book, draft=draft, event=new_event())

    return told_ripple(book, foreseen(book, do))


BOOK_ACTS = {
    "initial": BookAct(
        Act.INITIAL_BOOK,
        forms.BookInitialForm,
        _initial,
        "The book slip is initialled.",
    ),
    "hand_over": BookAct(
        Act.HAND_OVER, forms.BookForm, _hand_over, "The book is handed over."
    ),
    "recall": BookAct(Act.RECALL, forms.RecallForm, _recall, "The book is recalled."),
}


@dataclass(frozen=True)
class ListedItem:
    """An item as the slip lists it."""

    label: str
    key: str
    short_code: str
    text_version: int


@dataclass(frozen=True)
class BookLine:
    """One station of the book slip; `mine` while the reader may still initial it."""

    role: str
    who: str
    initials: str
    at: datetime | None
    mine: bool
    stands_for: str = ""


@login_required
@require_http_methods(["GET", "POST"])
def book_slip(request: HttpRequest, key: str) -> HttpResponse:
    """The list, its four lines, and what is done with the whole book."""
    person = person_of(request)
    stage = _stage(request.GET.get("stage", ""))
    act = BOOK_ACTS.get(request.POST.get("act", ""))
    if request.method == "POST" and act is None:
        raise NotFound
    book = book_for(person, key)
    if act:
        require(act.act, signing_roles(person, book))
    form = act.form(request.POST) if act else None
    reasons: tuple[str, ...] = ()
    status = 200
    if act and form:
        reasons, status = _do(act, form, person, book, stage)
        if status == 200:
            messages.success(request, act.done)
            return redirect(_address(book, stage))
    page = _page(person, book, stage) | {"reasons": reasons}
    page["recall"] = form if isinstance(form, forms.RecallForm) else forms.RecallForm()
    return render(request, "board/viewing/book_slip.html", page, status=status)


def _stage(asked: str) -> Stage:
    found = next((stage for stage in STAGES if stage.value == asked), None)
    if asked and found is None:
        raise NotFound
    return found or Stage.FINAL


def _do(
    act: BookAct, form: forms.BookForm, by: Person, book: Book, stage: Stage
) -> tuple[tuple[str, ...], int]:
    """Do it; what stands in the way comes back with its status."""
    if not form.is_valid():
        wrong = [str(error) for errors in form.errors.values() for error in errors]
        return tuple(dict.fromkeys(wrong)), 422
    try:
        act.do(by, book, stage, dict(form.cleaned_data))
    except (NotFound, NotPermitted):
        raise
    except BoardError as error:
        return error.reasons, error.status
    return (), 200


def _address(book: Book, stage: Stage) -> str:
    return f"{reverse('viewing:book-slip', args=[book.key])}?stage={stage.value}"


def _page(person: Person, book: Book, stage: Stage) -> dict[str, Any]:
    """What the page is drawn from, each kind of value as it is."""
    roles = roles_of(person, book)
    slip = book_standing(book, stage, person)
    handed = ItemStage.objects.filter(
        item__book=book, standing=Standing.HANDED_OVER
    ).exists()
    final = stage is Stage.FINAL
    may_recall = final and may(Act.RECALL, roles) and handed
    return {
        "book": book,
        "slip": slip,
        "stage": stage,
        "stages": [(one, _address(book, one)) for one in STAGES],
        "address": _address(book, stage),
        "listed": _listed(book, stage),
        "lines": _lines(slip, knows(person, book)),
        "handed": handed,
        "may_hand_over": final
        and may(Act.HAND_OVER, roles)
        and slip.complete
        and not handed,
        "may_recall": may_recall,
        "ripple": _foreseen_recall(person, book) if may_recall else None,
    }


def _listed(book: Book, stage: Stage) -> list[ListedItem]:
    labels = dict(book.items.values_list("key", "label"))
    return [
        ListedItem(
            label=labels[one.item],
            key=one.item,
            short_code=f"{one.checksum[:4]} {one.checksum[4:8]}".strip(),
            text_version=one.text_version,
        )
        for one in listing_of(book, stage)
    ]


def _lines(slip: BookStanding, to: Knows) -> list[BookLine]:
    given = {one.role: one for one in slip.initials}
    lent = {one.role: one.principal for one in to.lent}
    lines = []
    for role in STATIONS:
        one = given.get(role.value)
        whom = lent.get(role) if role not in to.roles else None
        lines.append(
            BookLine(
                role=role.value,
                who=_who(one) if one else to.names.get(role, ""),
                initials=one.person.initials if one else "",
                at=one.at if one else None,
                mine=one is None
                and (role in to.roles or whom is not None)
                and not slip.why_not_open,
                stands_for=whom.initials if whom else "",
            )
        )
    return lines


def _who(given: BookInitial) -> str:
    """The giver's name; a deputy's with the principal's."""
    whom = f" p.p. {given.principal.name}" if given.principal else ""
    return f"{given.person.name}{whom}"
