"""Pages of continuity: the sheet, one thing with its strip, marking a place."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from accounts.models import Person
from board.books.queries import book_for, item_for, plan_of, roles_of
from board.continuity import actions
from board.continuity.forms import PlaceForm, ThingForm, ValuesForm
from board.continuity.models import Thing
from board.continuity.queries import rows_of, strip_of, thing_for
from board.continuity.rules import bounds
from board.errors import NotFound
from board.permits import Act, may

KEEP = Act.KEEP_CONTINUITY


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


def _event(request: HttpRequest) -> str:
    return request.POST.get("event", "")


def _act(request: HttpRequest) -> Act:
    return KEEP if request.method == "POST" else Act.LOOK


@login_required
@require_http_methods(["GET", "POST"])
def sheet(request: HttpRequest, key: str) -> HttpResponse:
    """The continuity sheet; a form begins to follow a thing."""
    person = _person(request)
    book = book_for(person, key, _act(request))
    form = ThingForm(request.POST or None)
    if form.is_valid():
        made = actions.enter_thing(
            by=person,
            book=book,
            name=form.cleaned_data["name"],
            steady=not form.cleaned_data["changes"],
            event=_event(request),
        )
        return redirect("continuity:thing", made.key)
    rows = rows_of(book)
    used = [
        cell.item
        for place, cell in enumerate(rows[0].cells if rows else [])
        if cell.item.story or any(row.cells[place].value for row in rows)
    ]
    shown = {item.pk for item in used}
    page = {
        "book": book,
        "form": form,
        "items": used,
        "rows": [
            (row, [cell for cell in row.cells if cell.item.pk in shown]) for row in rows
        ],
        "odd": [(row, cell) for row in rows for cell in row.unexplained],
        "may_keep": may(KEEP, roles_of(person, book)),
    }
    status = 422 if form.errors else 200
    return render(request, "board/continuity/sheet.html", page, status=status)


@login_required
@require_http_methods(["GET", "POST"])
def thing(request: HttpRequest, key: str) -> HttpResponse:
    """One thing: its values, and how it is painted across the book."""
    person = _person(request)
    found = thing_for(person, key, _act(request))
    row = rows_of(found.book, [found])[0]
    form = ValuesForm(request.POST or None, row=row)
    if form.is_valid():
        actions.enter_values(
            by=person, thing=found, values=form.values(), event=_event(request)
        )
        messages.success(request, "Kept.")
        return redirect("continuity:thing", key)
    page = {
        "book": found.book,
        "thing": found,
        "row": row,
        "form": form,
        "crops": strip_of(found, person),
        "may_keep": may(KEEP, roles_of(person, found.book)),
    }
    status = 422 if form.errors else 200
    return render(request, "board/continuity/thing.html", page, status=status)


@login_required
@require_http_methods(["GET", "POST"])
def place(request: HttpRequest, key: str, item: str) -> HttpResponse:
    """Mark where the thing is seen on an item."""
    person = _person(request)
    found, on = thing_for(person, key, KEEP), item_for(person, item, KEEP)
    if on.book_id != found.book_id:
        raise NotFound
    form = PlaceForm(request.POST or None)
    if form.is_valid():
        actions.mark_place(
            by=person,
            thing=found,
            item=on,
            points=form.marked()[1],
            event=_event(request),
        )
        messages.success(request, f"Marked on {on.label}.")
        return redirect("continuity:thing", key)
    page = {
        "book": found.book,
        "thing": found,
        "item": on,
        "form": form,
        "plan": plan_of(on),
        "boxes": _laid(found, on.pk),
    }
    status = 422 if form.errors else 200
    return render(request, "board/continuity/place.html", page, status=status)


def _laid(found: Thing, item: int) -> list[tuple[dict[str, object], None]]:
    """The place that is marked there already, as the plan draws it."""
    laid = []
    for one in found.places.filter(item=item):
        left, top, right, bottom = bounds(one.points)
        size = {"width": right - left, "height": bottom - top}
        box = {"key": one.key, "sort": "focal", "x": left, "y": top, **size}
        laid.append((box, None))
    return laid
