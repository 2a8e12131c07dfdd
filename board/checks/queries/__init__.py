"""Reading checks: of one revision for its page, of many items for their slips."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from accounts.models import Person
from board.books.models import Item
from board.books.rules import Stage
from board.checks.models import CheckRun
from board.checks.queries.terms import INK_LIMIT
from board.checks.rules import Finding, Level, Place, Terms, worst
from board.checks.rules.folds import in_band
from board.checks.rules.judging import stop_sentences
from board.repro import store
from board.repro.grants import grant_tiles
from board.repro.inking import GAMUT, INK, PROOF
from board.repro.sheets import Rect
from board.revisions.models import Revision
from board.revisions.queries import require_seen, scope_of

SMALLEST_WINDOW, LONG = 140.0, 8.0
UNDER_WAY = frozenset({CheckRun.State.WAITING, CheckRun.State.WORKING})
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


@dataclass(frozen=True)
class AtFinal:
    """What the checks of an item's current final say to its slip."""

    stops: tuple[str, ...] = ()
    running: bool = False


def at_final(items: Iterable[Item]) -> dict[int, AtFinal]:
    """What stops the OK of each item's current final; two queries for any number.

    `stops` are those of the last run that is over, `running` says that another one
    was asked for and is not. Items of which neither is true are left out.
    """
    current: dict[int, int] = {}
    items = list(items)
    if not items:
        return {}
    rows = Revision.objects.filter(
        item__in=items, stage=Stage.FINAL, number__isnull=False
    )
    for item, revision in rows.order_by("number").values_list("item_id", "pk"):
        current[item] = revision
    runs = CheckRun.objects.filter(revision__in=current.values())
    found: dict[int, AtFinal] = {}
    asked = runs.order_by("asked_at", "pk")
    for revision, work, findings in asked.values_list("revision", "work", "findings"):
        before = found.get(revision, AtFinal()).stops
        stops = stop_sentences(findings) if work == CheckRun.State.DONE else before
        found[revision] = AtFinal(stops, running=work in UNDER_WAY)
    told = {item: found.get(revision, AtFinal()) for item, revision in current.items()}
    return {item: one for item, one in told.items() if one != AtFinal()}


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
