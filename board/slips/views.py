"""Acts on sources that can move a standing: judging one, saying where it lies."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from accounts.models import Person
from board.books.queries import item_for
from board.clippings.actions import UseDraft
from board.clippings.forms import UseForm
from board.clippings.models import Clipping
from board.clippings.queries import offer_for, source_for, use_for
from board.errors import NotUnderstood
from board.permits import Act
from board.revisions.models import Revision
from board.revisions.queries import revision_for
from board.slips.actions import clearances


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


def _event(request: HttpRequest) -> str:
    return request.POST.get("event", "")


@login_required
@require_POST
def clearance(request: HttpRequest, key: str) -> HttpResponse:
    """Judge a source."""
    person = _person(request)
    source = source_for(person, key, Act.JUDGE_SOURCE)
    clearances.change_clearance(
        by=person,
        clipping=source,
        clearance=request.POST.get("clearance", ""),
        because=request.POST.get("because", ""),
        event=_event(request),
    )
    messages.success(request, f"Kept: {source.code} is judged.")
    return redirect("sources:source", key)


@login_required
@require_POST
def use(request: HttpRequest, key: str, item: str) -> HttpResponse:
    """Say where a source lies on an item."""
    person = _person(request)
    source = source_for(person, key, Act.ENTER_SOURCE)
    on = item_for(person, item, Act.ENTER_SOURCE)
    form = UseForm(request.POST)
    if not form.is_valid():
        said = " ".join(str(wrong[0]) for wrong in form.errors.values())
        raise NotUnderstood(f"The place is not understood. {said}")
    first = _revision(person, source, request.POST.get("first_shown", ""))
    draft = UseDraft(*form.marked(), first)
    clearances.mark_use(
        by=person, clipping=source, item=on, draft=draft, event=_event(request)
    )
    messages.success(request, f"Marked: {source.code} on {on.label}.")
    return redirect("sources:source", key)


def _revision(person: Person, source: Clipping, key: str) -> Revision | None:
    if not key:
        return None
    found = revision_for(person, key)
    if found.item.book_id != source.book_id:
        raise NotUnderstood("That picture belongs to another book.")
    return found


@login_required
@require_POST
def use_off(request: HttpRequest, key: str) -> HttpResponse:
    """Say that a source is gone from a picture on, or was never there."""
    person = _person(request)
    found = use_for(person, key)
    gone = _revision(person, found.clipping, request.POST.get("gone_from", ""))
    clearances.take_off_use(by=person, use=found, gone_from=gone, event=_event(request))
    messages.success(request, f"Kept: {found.clipping.code} on {found.item.label}.")
    return redirect("sources:source", found.clipping.key)


@login_required
@require_POST
def offer(request: HttpRequest, key: str) -> HttpResponse:
    """Accept a place the search found, or say it is none."""
    person = _person(request)
    offered = offer_for(person, key)
    accepted = request.POST.get("answer") == "accept"
    clearances.answer_offered(
        by=person, offered=offered, accepted=accepted, event=_event(request)
    )
    messages.success(request, "Marked." if accepted else "Kept: it is another paper.")
    return redirect("sources:list", offered.clipping.book.key)
