"""An item's room: the picture, its notes and its slip."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from accounts.models import Person
from board.books.queries import item_for
from board.permits import Act, Facet, may
from board.revisions.queries.told import format_of, told_picture
from board.slips.queries.lines import flags_on
from board.viewing.forms import CLASSES, NoteForm
from board.viewing.queries import Room, Row, room_for, shown_in
from board.viewing.queries.telling import (
    boxes_told,
    places_told,
    type_told,
)
from board.viewing.views.note_acts import MAY_WAIT, NOTE_ACTS


@dataclass(frozen=True)
class ActLink:
    """An act as a row offers it."""

    name: str
    title: str
    one_press: bool


@dataclass(frozen=True)
class OwnLine:
    """What the reader may do at a line of the slip that is theirs."""

    facet: str
    initial: bool
    corrected: bool
    refuse: bool

    @property
    def any(self) -> bool:
        return self.initial or self.corrected or self.refuse


def person_of(request: HttpRequest) -> Person:
    return cast("Person", request.user)


@login_required
@require_GET
def room(request: HttpRequest, key: str) -> HttpResponse:
    """One item, looked at and marked."""
    found = _room(request, key)
    page = page_of(found) | {
        "form": NoteForm(item=found.item),
        "classes": CLASSES,
        "kept_forms": _kept_forms(found),
    }
    return render(request, "board/viewing/room.html", page)


@login_required
@require_GET
def parts(request: HttpRequest, key: str) -> HttpResponse:
    """The parts of the room that change while people work, drawn anew."""
    return render(request, "board/viewing/_parts.html", page_of(_room(request, key)))


@login_required
@require_GET
def pictures(request: HttpRequest, key: str) -> HttpResponse:
    """Fresh signed addresses of the pictures that a page shows."""
    person = person_of(request)
    item = item_for(person, key)
    asked = request.GET.getlist("revision")[:2] or [""]
    shown = [shown_in(person, item, one).revision for one in asked]
    told = [told_picture(revision, person) for revision in shown]
    return JsonResponse({"pictures": [one for one in told if one]})


def _room(request: HttpRequest, key: str) -> Room:
    person = person_of(request)
    item = item_for(person, key)
    return room_for(person, item, request.GET.get("revision", ""))


def page_of(found: Room) -> dict[str, object]:
    """What the room's templates are drawn from."""
    item, revision = found.item, found.shown.revision
    asked = f"?revision={revision.key}" if revision else ""
    own = tuple(Facet(line.facet) for line in found.lines if line.mine)
    acts = _slip_acts(found, own)
    return {
        "book": item.book,
        "item": item,
        "room": found,
        "shown": found.shown,
        "open_rows": _with_acts(found.open_rows),
        "ended_rows": _with_acts(found.ended_rows),
        "slip_acts": acts,
        "to_initial": next((line.facet for line in acts if line.initial), ""),
        "stage_acts": _stage_acts(found),
        "flags": flags_on(item),
        "may_look": may(Act.KEEP_CONTINUITY, found.roles),
        "may_upload": may(Act.UPLOAD, found.roles),
        "asked": asked,
        "told": {
            "format": format_of(item),
            "name": _named(found),
            "fresh": reverse("viewing:pictures", args=[item.key]) + asked,
            "picture": found.picture,
            "boxes": boxes_told(found.boxes) + places_told(found.checked),
            "type": type_told(item, found.text),
        },
    }


def _kept_forms(found: Room) -> list[dict[str, object]]:
    """Forms of acts on notes that lie in the page, for when the line is down."""
    there = {act for row in found.rows for act in row.acts}
    return [
        {
            "name": name,
            "title": NOTE_ACTS[name].title,
            "form": NOTE_ACTS[name].form(item=found.item),
        }
        for name in MAY_WAIT
        if name in there
    ]


def _named(found: Room) -> str:
    """What the picture is called aloud, and what it shows if the editor said so."""
    name = f"{found.item.label}, {found.shown.called or 'nothing up yet'}"
    return f"{name}. {found.item.alt_text}" if found.item.alt_text else name


def _with_acts(rows: Iterable[Row]) -> list[tuple[Row, list[ActLink]]]:
    """Rows with their acts as the page words them."""
    return [
        (
            row,
            [
                ActLink(name, NOTE_ACTS[name].title, NOTE_ACTS[name].one_press)
                for name in row.acts
                if name in NOTE_ACTS
            ],
        )
        for row in rows
    ]


def _slip_acts(found: Room, own: tuple[Facet, ...]) -> list[OwnLine]:
    """For each facet of the reader's own, what they may do at that line now."""
    return [
        OwnLine(
            facet=facet.value,
            initial=f"initial:{facet.value}" in found.acts,
            corrected=f"initial_as_corrected:{facet.value}" in found.acts,
            refuse=f"refuse:{facet.value}" in found.acts,
        )
        for facet in own
    ]


def _stage_acts(found: Room) -> list[tuple[str, str]]:
    """Acts on whole stages: (act, stage)."""
    order = {"open_stage": 0, "waive_stage": 1, "ask_reopening": 2}
    pairs = [act.split(":", 1) for act in found.acts if ":" in act]
    chosen = [(act, stage) for act, stage in pairs if act in order]
    stages = [row.stage for row in found.item.stages.all()]
    return sorted(chosen, key=lambda pair: (stages.index(pair[1]), order[pair[0]]))
