"""Sources as plain values: clearance, what may lie in a scrap, areas on the sheet.

What is kept follows common practice of permissions logs; nothing here judges whether
a use is lawful. There is no percentage below which a use is free, so none is asked.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from itertools import combinations

from board.errors import NotUnderstood

CAUTION = (
    "This is a working record and not legal advice. Whether a use needs a licence is "
    "decided case by case: ask rights counsel."
)
LONGEST_WORDS = 4000
MOST_POINTS = 400


class Clearance(StrEnum):
    """How far a source is cleared."""

    UNKNOWN = "unknown"
    ASKED = "asked"
    GRANTED = "granted"
    NOT_NEEDED = "not needed"
    REFUSED = "refused"
    REPLACE = "replace"


CLEARED = frozenset({Clearance.GRANTED, Clearance.NOT_NEEDED})
WITH_REASON = frozenset({Clearance.NOT_NEEDED, Clearance.REFUSED, Clearance.REPLACE})

KINDS = (
    "own painted paper",
    "own photocopy",
    "public domain",
    "licensed",
    "permitted",
    "bought pattern paper",
    "orphan",
    "family paper",
    "other",
)
MATTERS = {
    "people": "people or faces",
    "names": "names",
    "handwriting": "handwriting",
    "brands": "brands or logos",
    "stamps": "stamps",
    "banknotes": "banknotes",
    "maps": "maps",
    "music": "music",
    "sacred": "sacred or ceremonial matter",
}
SIDES = ("front", "back", "uncut")
MARKS = ("", "box", "loop")
HOW = ("by hand", "found by search, accepted")

Place = tuple[float, float]


@dataclass(frozen=True)
class Uncleared:
    """A source on a current picture that is neither granted nor not needed."""

    code: str
    clearance: str
    since: datetime | None = None


@dataclass(frozen=True)
class Bled:
    """The bled sheet: trim in millimetres, bleed around it."""

    width_mm: float
    height_mm: float
    bleed_mm: float

    @property
    def area_cm2(self) -> float:
        """The trimmed area, of which shares are told."""
        return self.width_mm * self.height_mm / 100

    @property
    def edges(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the bled sheet in fractions of the trim."""
        x, y = self.bleed_mm / self.width_mm, self.bleed_mm / self.height_mm
        return -x, -y, 1 + x, 1 + y


def outline(mark: str, points: Sequence[Sequence[float]]) -> list[Place]:
    """The corners of a marked place; nothing when no place is marked.

    Raises
    ------
    NotUnderstood
        for a mark that is no box and no loop, or has too few or too many points.
    """
    if mark not in MARKS:
        raise NotUnderstood("A place is marked with a box or a loop.")
    if not mark:
        return []
    wanted = 2 if mark == "box" else 3
    if not wanted <= len(points) <= (2 if mark == "box" else MOST_POINTS):
        raise NotUnderstood(
            "A box has two corners, a loop three points or more. Mark the place again."
        )
    try:
        placed = [(float(x), float(y)) for x, y in points]
    except (TypeError, ValueError):
        raise NotUnderstood("Those are no places on the sheet.") from None
    if any(not -1 <= number <= 2 for place in placed for number in place):
        raise NotUnderstood("That place lies outside the bled sheet. Mark it again.")
    if mark == "loop":
        return placed
    (left, top), (right, bottom) = placed
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def clipped(places: Sequence[Place], sheet: Bled) -> list[Place]:
    """Cut an outline to the bled sheet (one edge after another)."""
    left, top, right, bottom = sheet.edges
    kept = list(places)
    for axis, edge, keep_above in (
        (0, left, True), (0, right, False), (1, top, True), (1, bottom, False),
    ):  # fmt: skip
        kept = _cut(kept, axis, edge, keep_above=keep_above)
    return kept


def _cut(
    places: Sequence[Place], axis: int, edge: float, *, keep_above: bool
) -> list[Place]:
    kept: list[Place] = []
    for here, after in zip(places, [*places[1:], *places[:1]], strict=True):
        inside = (here[axis] >= edge) == keep_above or here[axis] == edge
        goes_in = (after[axis] >= edge) == keep_above or after[axis] == edge
        if inside:
            kept.append(here)
        if inside != goes_in:
            share = (edge - here[axis]) / (after[axis] - here[axis])
            x, y = (here[at] + share * (after[at] - here[at]) for at in (0, 1))
            kept.append((x, y))
    return kept


def area_cm2(mark: str, points: Sequence[Sequence[float]], sheet: Bled) -> float:
    """The printed area of a marked place, in cm2 (shoelace formula); bleed counts."""
    places = clipped(outline(mark, points), sheet)
    if len(places) < 3:
        return 0.0
    twice = sum(
        x * lower - right * y
        for (x, y), (right, lower) in zip(places, [*places[1:], places[0]], strict=True)
    )
    return abs(twice) / 2 * sheet.area_cm2


def size_mm(
    mark: str, points: Sequence[Sequence[float]], sheet: Bled
) -> tuple[float, float]:
    """Width and height in mm of the upright box around a place, bleed counted."""
    places = clipped(outline(mark, points), sheet)
    if len(places) < 3:
        return 0.0, 0.0
    left, top, right, bottom = box_of(places)
    return (right - left) * sheet.width_mm, (bottom - top) * sheet.height_mm


def box_of(places: Sequence[Place]) -> tuple[float, float, float, float]:
    """The upright box around an outline: left, top, right, bottom."""
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return min(xs), min(ys), max(xs), max(ys)


def overlap(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float]
) -> float:
    """How much of the smaller box lies in the other, 0 to 1."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    least = min((b[2] - b[0]) * (b[3] - b[1]) for b in (one, other))
    return max(wide, 0.0) * max(high, 0.0) / least if least > 0 else 0.0


def on_one_place(
    marked: Iterable[tuple[str, Sequence[Place]]],
) -> list[tuple[str, str]]:
    """Pairs of sources whose marked places overlap: layered paper, or a slip."""
    placed = [(code, box_of(places)) for code, places in marked if places]
    return [
        (one, other)
        for (one, a), (other, b) in combinations(placed, 2)
        if one != other
        and min(a[2], b[2]) > max(a[0], b[0])
        and min(a[3], b[3]) > max(a[1], b[1])
    ]


def plain_cell(value: object) -> str:
    """A cell that no spreadsheet runs as a formula (OWASP: CSV injection)."""
    text = str(value).replace("\r\n", "\n").replace("\r", "\n")
    starts = text.lstrip(" \n")[:1]
    if starts and starts in "=+-@\t\uff1d\uff0b\uff0d\uff20":
        return f"'{text}"
    return f"'{text}" if text[:1] in {"\t", "\n"} else text
