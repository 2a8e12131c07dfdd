"""The light table: two revisions of an item over one another."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.models import Person
from board.books.models import Item
from board.books.queries import item_for, roles_of
from board.books.rules import Stage
from board.errors import BoardError, NotFound
from board.light_table.actions import compare
from board.light_table.queries import Compared, comparison_of, told
from board.light_table.rules import PLAN_ONLY, compares_colour
from board.permits import Act, may
from board.revisions.models import Revision
from board.revisions.queries import called, folder_of, is_laid, sent_up
from board.revisions.queries.told import format_of, told_picture
from board.slips.actions.changes import name_change
from board.tissue.queries import note_for, notes_for
from board.tissue.queries.asking import ChangeSeen, ledger_for
from board.viewing.forms import ChangeForm
from board.viewing.queries import crop_of
from board.viewing.queries.telling import boxes_told
from board.viewing.views.acts import Asked, answer
from board.viewing.views.room import person_of

VIEWS = [
    ("lay-over", "lay over"),
    ("slide", "slide"),
    ("lift", "lift"),
    ("side-by-side", "side by side"),
    ("change-map", "change map"),
]


@dataclass(frozen=True)
class Pair:
    """The two revisions that lie on the table."""

    item: Item
    before: Revision | None
    after: Revision | None
    choices: tuple[tuple[Revision, str], ...]

    @property
    def is_whole(self) -> bool:
        return self.before is not None and self.after is not None


@dataclass(frozen=True)
class Change:
    """A changed place as the list rules it."""

    number: int
    where: dict[str, float]
    width_mm: float
    height_mm: float
    seen: ChangeSeen
    say_address: str = ""


@login_required
@require_GET
def light_table(request: HttpRequest, key: str) -> HttpResponse:
    """Two revisions over one another at any zoom; the address keeps the look."""
    person = person_of(request)
    item = item_for(person, key)
    pair = _pair(request, person, item)
    names = [one.key for one in (pair.before, pair.after) if one]
    asked = "&".join(f"revision={name}" for name in names)
    view = request.GET.get("view", "")
    page = _changes_page(person, pair) | {
        "pair": pair,
        "lying": next(
            (one for one in (pair.after, pair.before) if one and not one.is_up), None
        ),
        "views": VIEWS,
        "view": view if view in dict(VIEWS) else VIEWS[0][0],
        "stills": [
            told_picture(one, person) for one in (pair.before, pair.after) if one
        ],
        "told": {
            "format": format_of(item),
            "boxes": boxes_told(item.boxes.all()),
            "fresh": f"{reverse('viewing:pictures', args=[key])}?{asked}",
            "before": told_picture(pair.before, person),
            "after": told_picture(pair.after, person),
            "names": [_name(pair.before), _name(pair.after)],
        },
    }
    return render(request, "board/viewing/light_table.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def comparison(request: HttpRequest, key: str) -> HttpResponse:
    """The changes of a pair as a list; a POST has them measured."""
    person = person_of(request)
    item = item_for(person, key)
    pair = _pair(request, person, item)
    reasons: tuple[str, ...] = ()
    if request.method == "POST" and pair.before and pair.after:
        try:
            compare(pair.before, pair.after, by=person)
        except BoardError as error:
            reasons = error.reasons
    if request.headers.get("Board-Part") == "yes":
        page = _changes_page(person, pair) | {"pair": pair, "reasons": reasons}
        status = 409 if reasons else 200
        return render(request, "board/viewing/_changes.html", page, status=status)
    for reason in reasons:
        messages.error(request, reason)
    return redirect(_address(pair, view="change-map"))


@login_required
@require_http_methods(["GET", "POST"])
def say_of_change(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """The artist's word on a change that nobody asked for."""
    person = person_of(request)
    item = item_for(person, key, Act.ANSWER_LINE)
    pair = _pair(request, person, item)
    before, after = pair.before, pair.after
    if before is None or after is None:
        raise NotFound
    lines = [
        (one.note.key, f"{one.label}: {one.words}")
        for one in notes_for(person, item)
        if one.is_open
    ]
    form = ChangeForm(request.POST or None, item=item, choices=lines)
    asked = Asked(
        item=item,
        title=f"A word on place {number}",
        button="Say it",
        done="Your word stands by the change.",
        address=_address(pair, name="viewing:change", more=[number]),
        back=_address(pair, view="change-map") + f"&change={number}",
    )

    def say() -> object:
        told = form.cleaned_data
        return name_change(
            by=person,
            before=before,
            after=after,
            place=number - 1,
            words=told["words"],
            note=note_for(person, told["note"]) if told["note"] else None,
            event=told["event"],
        )

    return answer(request, form, asked, say)


def _changes_page(person: Person, pair: Pair) -> dict[str, Any]:
    """What the list of changes is drawn from, each kind of value as it is."""
    found: Compared | None = None
    if pair.before and pair.after:
        row = comparison_of(pair.before, pair.after)
        found = told(row, person) if row else None
    return {
        "book": pair.item.book,
        "item": pair.item,
        "compared": found,
        "plan": _plan(person, pair),
        "changes": _changes(person, pair) if found and found.changes else [],
        "compare_address": _address(pair, name="viewing:comparison"),
    }


def _plan(person: Person, pair: Pair) -> dict[str, Any] | None:
    """Between drawn and painted: the boxes to look at, with what crops are cut of."""
    before, after = pair.before, pair.after
    if before is None or after is None:
        return None
    if compares_colour(Stage(before.stage), Stage(after.stage)):
        return None
    pictures = told_picture(before, person), told_picture(after, person)
    boxes = [(box, crop_of(pair.item, box)) for box in pair.item.boxes.all()]
    return {
        "says": PLAN_ONLY,
        "boxes": boxes if None not in pictures else [],
        "before": pictures[0],
        "after": pictures[1],
        "names": (called(before), called(after)),
    }


def _changes(person: Person, pair: Pair) -> list[Change]:
    if pair.before is None or pair.after is None:
        return []
    item = pair.item
    artist = may(Act.ANSWER_LINE, roles_of(person, item.book))
    return [
        Change(
            number=one.place + 1,
            where={
                "x": one.region.x,
                "y": one.region.y,
                "width": one.region.width,
                "height": one.region.height,
                "mean": one.mean,
                "peak": one.peak,
            },
            width_mm=one.region.width * item.width_mm,
            height_mm=one.region.height * item.height_mm,
            seen=one,
            say_address=_address(pair, name="viewing:change", more=[one.place + 1])
            if artist
            else "",
        )
        for one in ledger_for(person, pair.before, pair.after).changes
    ]


def _pair(request: HttpRequest, person: Person, item: Item) -> Pair:
    """The pair asked for, else the newest two that this person may see."""
    up = list(sent_up(item).select_related("item__book"))
    mine = [one for one in folder_of(item, person) if is_laid(one)]
    rows = [one for one in up if is_laid(one)] + mine[::-1]
    for one in rows:
        one.item = item
    by_key = {one.key: one for one in rows}
    after = by_key.get(request.GET.get("after", ""))
    before = by_key.get(request.GET.get("before", ""))
    if after is None and rows:
        after = next((one for one in reversed(rows) if one != before), rows[-1])
    if before is None and after is not None:
        older = [one for one in rows if one != after]
        before = older[-1] if older else None
    return Pair(item, before, after, tuple((one, _name(one)) for one in rows))


def _name(revision: Revision | None) -> str:
    return f"{called(revision)} ({revision.short_code})" if revision else ""


def _address(
    pair: Pair,
    *,
    name: str = "viewing:light-table",
    view: str = "",
    more: Sequence[int] = (),
) -> str:
    before = pair.before.key if pair.before else ""
    after = pair.after.key if pair.after else ""
    look = f"&view={view}" if view else ""
    plain = reverse(name, args=[pair.item.key, *more])
    return f"{plain}?before={before}&after={after}{look}"
