"""During a sitting: the one page everybody looks at, and the chair's acts."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from accounts.models import Person
from board.books.queries import roles_of
from board.errors import NotUnderstood
from board.permits import Act
from board.sittings.actions import holding
from board.sittings.actions import reading as reading_aloud
from board.sittings.actions.seats import take_seat
from board.sittings.forms import DECISIONS
from board.sittings.models import Sitting
from board.sittings.queries import (
    listed,
    listed_item,
    sitter,
    sitting_for,
    waiting_told,
)
from board.sittings.queries.agenda import agenda_for, reasons_on
from board.sittings.queries.room import (
    counted,
    may_in,
    on_table,
    pictures_told,
    places,
    reading_pages,
)
from board.sittings.queries.state import Reader, missed
from board.sittings.rules import Standing
from board.sittings.views.minutes import minutes_page
from board.sittings.views.planning import person_of
from board.slips.queries.events import Record

VIEWS = (
    ("sheet", "the sheet"),
    ("lay-over", "lay over"),
    ("slide", "slide"),
    ("lift", "lift"),
    ("side-by-side", "side by side"),
    ("change-map", "change map"),
)


@login_required
@require_GET
def sitting(request: HttpRequest, key: str) -> HttpResponse:
    """The agenda before, the common table during, the minutes after."""
    person = person_of(request)
    found = sitting_for(person, key)
    if found.standing is Standing.CLOSED:
        return minutes_page(request, person, found)
    if found.standing is not Standing.OPEN:
        return _agenda(request, person, found)
    reader = Reader(person, roles_of(person, found.book))
    state, _ = missed(found, reader, Record(found.book), since=-1, sight="")
    page = _parts(person, found, request.GET.get("item", "")) | {
        "with_table": True,
        "state": state | {"me": person.key},
        "pages": reading_pages(person, found) if found.reading else [],
    }
    return render(request, "board/sittings/sitting.html", page)


def _agenda(request: HttpRequest, person: Person, found: Sitting) -> HttpResponse:
    page = {
        "book": found.book,
        "sitting": found,
        "agenda": agenda_for(person, found),
        "may": may_in(person, found),
    }
    return render(request, "board/sittings/agenda.html", page)


@login_required
@require_GET
def parts(request: HttpRequest, key: str) -> HttpResponse:
    """The parts of the page that change, drawn anew; the table only when asked."""
    person = person_of(request)
    found = sitting_for(person, key)
    asked = request.GET.get("item", "")
    page = _parts(person, found, asked) | {"with_table": "table" in request.GET}
    return render(request, "board/sittings/_parts.html", page)


def _parts(person: Person, found: Sitting, asked: str) -> dict[str, Any]:
    """What the parts that change are drawn from; `asked` is an item's key.

    Every page asks for them at each turn of the chair: they read no record.
    """
    now = found.now_item.key if found.now_item else ""
    item_key, rows = asked or now, listed(found)
    place = places(found, rows, item_key)
    table = on_table(person, found, listed_item(rows, item_key)) if item_key else None
    fresh = reverse("sittings:pictures", args=[found.key]) + f"?item={item_key}"
    return {
        "book": found.book,
        "sitting": found,
        "places": place,
        "counted": counted(place),
        "table": table,
        "fresh": fresh,
        "asked": asked,
        "may": may_in(person, found),
        "decisions": DECISIONS,
        "views": VIEWS,
        "waiting": waiting_told(found, rows),
        "reasons": reasons_on(person, found, rows, item_key),
    }


@login_required
@require_GET
def pictures(request: HttpRequest, key: str) -> HttpResponse:
    """Fresh signed addresses of the pictures on the table."""
    person = person_of(request)
    found = sitting_for(person, key)
    row = listed_item(listed(found), request.GET.get("item", ""))
    return JsonResponse({"pictures": pictures_told(person, row)})


@login_required
@require_POST
def begin(request: HttpRequest, key: str) -> HttpResponse:
    """Open the sitting; the list of revisions is frozen."""
    return _act(request, key, holding.open_sitting)


@login_required
@require_POST
def close(request: HttpRequest, key: str) -> HttpResponse:
    """Close the sitting; its minutes stand."""
    return _act(request, key, holding.close_sitting)


def _act(request: HttpRequest, key: str, act: Callable[..., Sitting]) -> HttpResponse:
    person = person_of(request)
    found = sitting_for(person, key, Act.CHAIR_SITTING)
    act(by=person, sitting=found, event=request.POST.get("event", ""))
    return redirect("sittings:sitting", key)


@login_required
@require_POST
def turn(request: HttpRequest, key: str) -> HttpResponse:
    """Lay another item before everybody."""
    person = person_of(request)
    found = sitting_for(person, key, Act.CHAIR_SITTING)
    holding.turn_to(by=person, sitting=found, item_key=request.POST.get("item", ""))
    return _answered(request, key)


@login_required
@require_POST
def look(request: HttpRequest, key: str) -> HttpResponse:
    """Show everybody what the chair looks at, for pages without a live line."""
    person = person_of(request)
    found = sitting_for(person, key, Act.CHAIR_SITTING)
    told: dict[str, Any] = {}
    for name in ("x", "y", "wide", "high", "over", "edge", "page"):
        if name in request.POST:
            told[name] = _number(request.POST[name])
    for name in ("view", "top"):
        if name in request.POST:
            told[name] = request.POST[name]
    holding.look_at(by=person, sitting=found, told=told)
    return _answered(request, key)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise NotUnderstood("A place on the sheet is given in numbers.") from None


@login_required
@require_POST
def chair(request: HttpRequest, key: str) -> HttpResponse:
    """Hand over the chair, or take it."""
    person = person_of(request)
    found = sitting_for(person, key, Act.CHAIR_SITTING)
    to = sitter(found.book, request.POST.get("to", ""))
    event = request.POST.get("event", "")
    holding.hand_chair(by=person, sitting=found, to=to, event=event)
    return redirect("sittings:sitting", key)


@login_required
@require_POST
def decision(request: HttpRequest, key: str) -> HttpResponse:
    """Write a decision line."""
    person = person_of(request)
    found = sitting_for(person, key, Act.DECIDE)
    line = {name: request.POST.get(name, "") for name in ("item", "word", "remark")}
    ruled_by = request.POST.get("ruled_by", "") or person.key
    holding.decide(
        by=person,
        sitting=found,
        line=line,
        ruled_by=sitter(found.book, ruled_by),
        event=request.POST.get("event", ""),
    )
    if request.headers.get("Board-Part") == "yes":
        page = _parts(person, sitting_for(person, key), line["item"])
        return render(request, "board/sittings/_parts.html", page)
    messages.success(request, "Written down. It is no initial.")
    return redirect(
        reverse("sittings:sitting", args=[key]) + f"?item={line['item']}#decision"
    )


@login_required
@require_http_methods(["GET", "POST"])
def reading(request: HttpRequest, key: str) -> HttpResponse:
    """The book read aloud: its pages, and beginning and ending the reading."""
    person = person_of(request)
    if request.method == "GET":
        found = sitting_for(person, key)
        pages = reading_pages(person, found) if found.reading else []
        page = {"sitting": found, "book": found.book, "pages": pages}
        return render(request, "board/sittings/_reading.html", page)
    found = sitting_for(person, key, Act.CHAIR_SITTING)
    act = request.POST.get("act", "")
    if act == "begin":
        reading_aloud.begin(by=person, sitting=found)
    else:
        held = reading_aloud.end(
            by=person,
            sitting=found,
            event=request.POST.get("event", ""),
            keep=act == "end",
        )
        if held:
            messages.success(request, "The reading is recorded.")
    return redirect("sittings:sitting", key)


@login_required
@require_POST
def poll(request: HttpRequest, key: str) -> HttpResponse:
    """State and events for a page whose live line does not get through."""
    person = person_of(request)
    found = sitting_for(person, key, Act.SIT_IN)
    since = request.POST.get("since", "")
    follows = {"yes": True, "no": False}.get(request.POST.get("follows", ""))
    take_seat(by=person, sitting=found, follows=follows)
    state, events = missed(
        found,
        Reader(person, roles_of(person, found.book)),
        Record(found.book),
        since=int(since) if since.isdecimal() and len(since) < 10 else -1,
        sight=request.POST.get("sight", ""),
    )
    return JsonResponse({"state": state, "events": events})


def _answered(request: HttpRequest, key: str) -> HttpResponse:
    """Nothing more for a script; the page itself for a form."""
    if request.headers.get("Board-Part") == "yes":
        return HttpResponse(status=204)
    return redirect("sittings:sitting", key)
