"""The light table: two revisions of an item over one another."""

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
from board.books.queries import item_for
from board.errors import BoardError
from board.light_table.actions import compare
from board.light_table.queries import Compared, comparison_of, told
from board.revisions.models import Revision
from board.revisions.queries import called, folder_of, is_laid, sent_up
from board.viewing.queries import boxes_told, format_of, told_picture
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


def _changes_page(person: Person, pair: Pair) -> dict[str, Any]:
    """What the list of changes is drawn from."""
    found: Compared | None = None
    if pair.before and pair.after:
        row = comparison_of(pair.before, pair.after)
        found = told(row, person) if row else None
    return {
        "book": pair.item.book,
        "item": pair.item,
        "compared": found,
        "changes": _changes(found, pair.item) if found else [],
        "compare_address": _address(pair, name="viewing:comparison"),
    }


def _changes(found: Compared, item: Item) -> list[Change]:
    return [
        Change(
            number=number,
            where=where,
            width_mm=where["width"] * item.width_mm,
            height_mm=where["height"] * item.height_mm,
        )
        for number, where in enumerate(found.changes, start=1)
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


def _address(pair: Pair, *, name: str = "viewing:light-table", view: str = "") -> str:
    before = pair.before.key if pair.before else ""
    after = pair.after.key if pair.after else ""
    look = f"&view={view}" if view else ""
    plain = reverse(name, args=[pair.item.key])
    return f"{plain}?before={before}&after={after}{look}"
