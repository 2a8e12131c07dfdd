"""Before a sitting: the list, the plan, the calendar's entry."""

from typing import Any, cast
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from accounts.forms import time_zones
from accounts.models import Person
from board.books.models import Book
from board.books.queries import book_for, roles_of
from board.permits import Act, may
from board.sittings import actions
from board.sittings.forms import PlanForm
from board.sittings.models import Sitting
from board.sittings.queries import sitting_for, sittings_of
from board.sittings.queries.papers import as_calendar

MINUTES = 60


def person_of(request: HttpRequest) -> Person:
    """Whoever is signed in."""
    return cast("Person", request.user)


@login_required
@require_GET
def listed(request: HttpRequest, key: str) -> HttpResponse:
    """Sittings on a book: what is planned, what was held."""
    person = person_of(request)
    book = book_for(person, key)
    page = {
        "book": book,
        "sittings": sittings_of(book),
        "may_plan": may(Act.PLAN_SITTING, roles_of(person, book)),
    }
    return render(request, "board/sittings/list.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def plan(request: HttpRequest, key: str) -> HttpResponse:
    """Plan a sitting on a book."""
    person = person_of(request)
    book = book_for(person, key, Act.PLAN_SITTING)
    form = PlanForm(request.POST or None, book=book, initial=_usual(person, book))
    if form.is_valid():
        made = actions.plan_sitting(
            by=person,
            book=book,
            plan=form.plan(),
            event=request.POST.get("event", ""),
        )
        messages.success(request, "Planned. Everybody on the book gets a letter.")
        return redirect("sittings:sitting", made.key)
    return _form(request, book, form)


def _usual(person: Person, book: Book) -> dict[str, Any]:
    """What a new plan begins with."""
    now = timezone.localtime()
    keys = book.items.filter(set_aside=False, story=True).values_list("key", flat=True)
    return {
        "day": now.date(),
        "hour": f"{(now.hour + 1) % 24:02d}:00",
        "time_zone": person.time_zone or settings.TIME_ZONE,
        "minutes": MINUTES,
        "chair": person.key,
        "items": list(keys),
    }


@login_required
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, key: str) -> HttpResponse:
    """Plan a sitting anew."""
    person = person_of(request)
    sitting = sitting_for(person, key, Act.PLAN_SITTING)
    local = sitting.starts_at.astimezone(ZoneInfo(sitting.time_zone))
    initial = {
        "day": local.date(),
        "hour": local.time(),
        "time_zone": sitting.time_zone,
        "minutes": sitting.minutes,
        "chair": sitting.chair.key,
        "items": list(sitting.items.values_list("item__key", flat=True)),
        "remark": sitting.remark,
    }
    form = PlanForm(request.POST or None, book=sitting.book, initial=initial)
    if form.is_valid():
        actions.change_sitting(
            by=person,
            sitting=sitting,
            plan=form.plan(),
            event=request.POST.get("event", ""),
        )
        messages.success(request, "Planned anew. Everybody on the book gets a letter.")
        return redirect("sittings:sitting", key)
    return _form(request, sitting.book, form, sitting)


def _form(
    request: HttpRequest, book: Book, form: PlanForm, sitting: Sitting | None = None
) -> HttpResponse:
    page = {"book": book, "form": form, "sitting": sitting, "zones": time_zones()}
    status = 422 if form.errors else 200
    return render(request, "board/sittings/plan.html", page, status=status)


@login_required
@require_POST
def off(request: HttpRequest, key: str) -> HttpResponse:
    """Call a planned sitting off."""
    person = person_of(request)
    sitting = sitting_for(person, key, Act.PLAN_SITTING)
    event = request.POST.get("event", "")
    actions.call_off(by=person, sitting=sitting, event=event)
    messages.success(request, "Called off. Everybody on the book gets a letter.")
    return redirect("sittings:list", sitting.book.key)


@login_required
@require_GET
def calendar(request: HttpRequest, key: str) -> HttpResponse:
    """The sitting for anybody's calendar (RFC 5545)."""
    sitting = sitting_for(person_of(request), key)
    address = settings.BOARD_ADDRESS + reverse("sittings:sitting", args=[key])
    body = as_calendar(sitting, address)
    answer = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    name = f"sitting-{sitting.number}.ics"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
