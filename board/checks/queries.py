"""Reading checks: of one revision for its page, of many items for their slips."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from hashlib import sha256
from typing import Any

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage
from board.checks.models import CheckRun, PrintingCondition
from board.checks.rules import Finding, Level, Place, Source, Terms, worst
from board.checks.rules.folds import in_band
from board.checks.rules.judging import stop_sentences
from board.repro import store
from board.repro.grants import grant_tiles
from board.repro.inking import GAMUT, INK, PROOF
from board.repro.pressing import RECIPE
from board.repro.sheets import Rect
from board.revisions.models import Revision
from board.revisions.queries import require_seen, scope_of

SIDES = ("x", "y", "width", "height")
INK_LIMIT = 300.0
SMALLEST_WINDOW, LONG = 140.0, 8.0
WAITING = "The checks of this picture are on their way."
NEVER = "This picture was not checked yet. It is checked as soon as it is laid."


@dataclass(frozen=True)
class Checked:
    """A revision's checks as pages take them.

    `proof`, `gamut` and `ink` are addresses that are good until the second `until`:
    the soft proof of the bled sheet and two transparent drawings that lie over it.
    """

    state: str
    says: str
    over: bool
    level: Level
    findings: list[Finding]
    press: str
    proof: str = ""
    gamut: str = ""
    ink: str = ""
    until: int = 0

    @property
    def stops(self) -> tuple[str, ...]:
        return stop_sentences([found.as_dict() for found in self.findings])


def condition_of(book: Book) -> PrintingCondition | None:
    """The printing condition in force, if the house gave one."""
    return PrintingCondition.objects.filter(book=book).order_by("-pk").first()


def run_of(revision: Revision) -> CheckRun | None:
    """The last run that was asked for."""
    runs = CheckRun.objects.filter(revision=revision).select_related("condition")
    return runs.order_by("-asked_at", "-pk").first()


def checks_for(person: Person, revision: Revision) -> Checked:
    """The revision's checks: 404 or 403 unless this person may see the revision."""
    require_seen(revision, person)
    run = run_of(revision)
    if run is None:
        return Checked("", NEVER, False, Level.UNKNOWN, [], "")  # noqa: FBT003
    findings = [_finding(told) for told in run.findings]
    failed = run.work == CheckRun.State.FAILED
    done = run.work == CheckRun.State.DONE
    says = run.failure if failed else "" if done else WAITING
    level = worst([found.level for found in findings]) if done else Level.UNKNOWN
    return Checked(
        state=run.work,
        says=says,
        over=done or failed,
        level=level,
        findings=findings,
        press=run.condition.name if run.condition else "",
        **_maps(run, revision, person),
    )


def _finding(told: Mapping[str, Any]) -> Finding:
    return Finding(**{**told, "level": Level(told["level"])})


def _maps(run: CheckRun, revision: Revision, person: Person) -> dict[str, Any]:
    if not run.picture or not (store.picture_folder(run.picture) / PROOF).exists():
        return {}
    address = grant_tiles(run.picture, scope_of(revision.item.book, person))
    return {
        "proof": f"{address}/{PROOF}",
        "gamut": f"{address}/{GAMUT}",
        "ink": f"{address}/{INK}",
        "until": int(address.split("/")[2]),
    }


def stops(items: Iterable[Item]) -> dict[int, tuple[str, ...]]:
    """What of each item's current final stops its OK; two queries for any number.

    A run that is not over yet stops nothing; the last one that is over counts.
    """
    current: dict[int, int] = {}
    rows = Revision.objects.filter(
        item__in=list(items), stage=Stage.FINAL, number__isnull=False
    )
    for item, revision in rows.order_by("number").values_list("item_id", "pk"):
        current[item] = revision
    done = CheckRun.objects.filter(
        revision__in=current.values(), work=CheckRun.State.DONE
    )
    last = dict(done.order_by("asked_at", "pk").values_list("revision_id", "findings"))
    told = {item: stop_sentences(last.get(rev, [])) for item, rev in current.items()}
    return {item: sentences for item, sentences in told.items() if sentences}


def boxes_by_item(items: Iterable[Item]) -> dict[int, list[dict[str, Any]]]:
    """Boxes of items as plain values, in one query."""
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for item in items:
        for box in item.boxes.all():
            sides = {side: getattr(box, side) for side in SIDES}
            told = {"key": box.key, "sort": box.sort, "label": box.label}
            found[item.pk].append({**told, **sides})
    return found


def terms_of(revision: Revision, condition: PrintingCondition | None) -> Terms:
    """What this revision is held against now."""
    item, book = revision.item, revision.item.book
    return Terms(
        stage=Stage(revision.stage),
        pages=(item.first_page, item.last_page),
        extent=book.extent,
        sheet_mm=(item.width_mm, item.height_mm),
        bleed_mm=book.bleed_mm,
        gutter_mm=book.gutter_mm,
        ppi_warn=book.ppi_warn,
        ppi_stop=book.ppi_stop,
        double=item.is_double,
        picture=(revision.width, revision.height),
        declared=revision.laid,
        error_bar_mm=revision.error_bar_mm or 0.0,
        mode=revision.mode,
        boxes=boxes_by_item([item])[item.pk],
        **_pressed(condition),
    )


def _pressed(condition: PrintingCondition | None) -> dict[str, Any]:
    if condition is None:
        practice = f"{Source.PRACTICE}: what most printers take"
        return {"ink_limit": INK_LIMIT, "ink_source": practice}
    return {
        "ink_limit": condition.ink_limit,
        "ink_source": condition.ink_source,
        "press": condition.name if condition.profile_sha256 else "",
        "bleed_asked_mm": condition.bleed_mm or 0.0,
        "bleed_source": condition.bleed_source or Source.BOOK,
    }


def recipe_of(
    revision: Revision, terms: Terms, condition: PrintingCondition | None
) -> str:
    """What a run is kept under: how it is made, how the picture lies, and the terms."""
    profile = condition.profile_sha256 if condition else ""
    told = [RECIPE, revision.picture, revision.matrix, profile, asdict(terms)]
    body = json.dumps(told, sort_keys=True, default=str)
    return sha256(body.encode()).hexdigest()


def band_share(item: Item, place: Place) -> float:
    """How much of a box, say a note's, the gutter band hides: 0 to 1."""
    terms = Terms(
        stage=Stage.FINAL,
        pages=(item.first_page, item.last_page),
        extent=item.book.extent,
        sheet_mm=(item.width_mm, item.height_mm),
        bleed_mm=item.book.bleed_mm,
        gutter_mm=item.book.gutter_mm,
        ppi_warn=0,
        ppi_stop=0,
        ink_limit=INK_LIMIT,
        ink_source="",
        double=item.is_double,
    )
    return in_band(place, terms)


@dataclass(frozen=True)
class Crop:
    """A place as a page draws it: a window on the laid picture, and the place in it.

    Both are thousandths of the laid picture's width and height; `view` is written as
    SVG takes it: left, top, width, height.
    """

    place: Place
    view: str
    mark: Place
    where: str


def told_on_sheet(
    checked: Checked, rect: Rect | None, *, most: int = 4
) -> list[tuple[Finding, list[Crop]]]:
    """Each finding with crops of its first places; none without a picture."""
    if rect is None:
        return [(found, []) for found in checked.findings]
    return [
        (found, [_crop(place, rect) for place in found.places[:most]])
        for found in checked.findings
    ]


def _crop(place: Place, rect: Rect) -> Crop:
    """A window around a place, at least a tenth of the sheet, in the middle if it can."""
    mark = {
        "x": (place["x"] - rect.x) / rect.width * 1000,
        "y": (place["y"] - rect.y) / rect.height * 1000,
        "width": place["width"] / rect.width * 1000,
        "height": place["height"] / rect.height * 1000,
    }
    side = _window(mark["width"], mark["height"])
    left = min(max(0.0, mark["x"] + mark["width"] / 2 - side / 2), 1000 - side)
    top = min(max(0.0, mark["y"] + mark["height"] / 2 - side / 2), 1000 - side)
    where = f"{place['x']:.1%} from the left, {place['y']:.1%} from the top"
    return Crop(place, f"{left:.1f} {top:.1f} {side:.1f} {side:.1f}", mark, where)


def _window(wide: float, high: float) -> float:
    """A long thin place is shown by its middle, any other whole."""
    short, long = sorted((wide, high))
    side = long * 1.5 if long <= LONG * max(short, 1.0) else short * 4
    return min(1000.0, max(SMALLEST_WINDOW, side))
