"""Notes as plain values: classes, places on the sheet, pairs that may clash."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from board.errors import NotUnderstood, OffTheSheet

CLASSES = ("keep", "direction", "query", "suggestion", "comment")
SHEET_ORDER = {sort: place for place, sort in enumerate(CLASSES)}
ASKING = frozenset({"direction", "query", "suggestion"})
BLOCKING = frozenset({"direction", "query"})
ENDED = frozenset(
    {
        "done",
        "answered",
        "stet",
        "withdrawn",
        "declined",
        "merged",
        "left to the artist",
    }
)
NEEDED = {"": 0, "point": 1, "box": 2, "loop": 3, "polygon": 3}
MARKS = frozenset(NEEDED)
OUTLINES = frozenset({"loop", "polygon"})

POINT_SHARE = 0.03  # a point counts as a disc this share of the page width wide
PAIR_SHARE = 0.30  # of the smaller region
WHOLE_SHEET = 0.80
MOST_POINTS = 400
LONGEST_WORDS = 4000

Point = tuple[float, float]


@dataclass(frozen=True)
class NoteDraft:
    """What somebody writes: class, words, and a mark in sheet fractions."""

    sort: str
    words: str
    mark: str = ""
    points: Sequence[Sequence[float]] = ()
    facet: str = ""
    role: str = ""


@dataclass(frozen=True)
class Sheet:
    """The sheet's trimmed size and its bleed, in millimetres."""

    width_mm: float
    height_mm: float
    bleed_mm: float
    double: bool = True

    @property
    def bleed(self) -> tuple[float, float]:
        """The bleed as fractions of the trimmed width and height."""
        return self.bleed_mm / self.width_mm, self.bleed_mm / self.height_mm

    @property
    def page_width(self) -> float:
        return 0.5 if self.double else 1.0


@dataclass(frozen=True)
class Region:
    """A box on the sheet, in fractions."""

    x: float
    y: float
    width: float
    height: float

    @property
    def area(self) -> float:
        return max(self.width, 0) * max(self.height, 0)

    def shared_with(self, other: "Region") -> float:
        """Area that two boxes share."""
        across = min(self.x + self.width, other.x + other.width) - max(self.x, other.x)
        down = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        return max(across, 0) * max(down, 0)


@dataclass(frozen=True)
class Placed:
    """A direction as the clash finder looks at it."""

    key: str
    by: str
    region: Region | None
    whole: bool = field(default=False)


def checked(draft: NoteDraft, sheet: Sheet) -> NoteDraft:
    """The draft with tidy words and its points clipped to the bled sheet.

    Raises
    ------
    NotUnderstood
        No words, no such class or mark, or too few points for the mark.
    OffTheSheet
        Every point lies outside the bled sheet.
    """
    words = draft.words.strip()
    if not words:
        raise NotUnderstood("A note needs words. Say the problem first, then the fix.")
    if len(words) > LONGEST_WORDS:
        raise NotUnderstood(
            f"That is {len(words)} characters; a note holds {LONGEST_WORDS}. "
            "Split it, one request a note, so that each can be answered."
        )
    if draft.sort not in CLASSES:
        raise NotUnderstood(
            "Say which kind of note it is: keep, direction, query, suggestion, comment."
        )
    points = clipped(draft.mark, draft.points, sheet)
    return NoteDraft(draft.sort, words, draft.mark, points, draft.facet, draft.role)


def clipped(
    mark: str, points: Sequence[Sequence[float]], sheet: Sheet
) -> list[list[float]]:
    """Points drawn into the bled sheet; a box becomes two ordered corners."""
    if mark not in MARKS:
        raise NotUnderstood("A mark is a point, a box, a loop or a polygon.")
    if mark == "":
        return []
    needed = NEEDED[mark]
    if len(points) < needed or len(points) > MOST_POINTS:
        raise NotUnderstood(f"A {mark} needs {needed} points or more on the picture.")
    pairs = [_pair(point) for point in points]
    across, down = sheet.bleed
    inside = [
        (min(max(x, -across), 1 + across), min(max(y, -down), 1 + down))
        for x, y in pairs
    ]
    if _misses(pairs, sheet):
        raise OffTheSheet
    return [[round(x, 6), round(y, 6)] for x, y in _shaped(mark, inside, sheet)]


def _shaped(mark: str, inside: list[Point], sheet: Sheet) -> list[Point]:
    """The points a mark keeps: one, two ordered corners, or an outline with an area."""
    if mark == "point":
        inside = inside[:1]
    if mark == "box":
        (x1, y1), (x2, y2) = inside[0], inside[1]
        inside = [(min(x1, x2), min(y1, y2)), (max(x1, x2), max(y1, y2))]
        if inside[0][0] == inside[1][0] or inside[0][1] == inside[1][1]:
            raise NotUnderstood("That box has no area. Draw it again, or use a point.")
    if mark == "polygon" and not area_of(mark, inside, sheet):
        raise NotUnderstood("That polygon has no area. Set a corner off its line.")
    return inside


def within(
    points: Sequence[Sequence[float]], sheet: Sheet
) -> tuple[list[list[float]], bool]:
    """Points drawn into the bled sheet, and whether all of them lay off it."""
    pairs = [_pair(point) for point in points]
    across, down = sheet.bleed
    inside = [
        [min(max(x, -across), 1 + across), min(max(y, -down), 1 + down)]
        for x, y in pairs
    ]
    return inside, _misses(pairs, sheet)


def _pair(point: Sequence[float]) -> Point:
    try:
        x, y = (float(value) for value in point)
    except (TypeError, ValueError):
        raise NotUnderstood("A point is two numbers, x and y on the sheet.") from None
    if not (math.isfinite(x) and math.isfinite(y)):
        raise NotUnderstood("A point is two numbers, x and y on the sheet.")
    return x, y


def _misses(pairs: Sequence[Point], sheet: Sheet) -> bool:
    across, down = sheet.bleed
    xs, ys = [x for x, _ in pairs], [y for _, y in pairs]
    return (
        max(xs) < -across
        or min(xs) > 1 + across
        or max(ys) < -down
        or min(ys) > 1 + down
    )


def region_of(
    mark: str, points: Sequence[Sequence[float]], sheet: Sheet
) -> Region | None:
    """The box round a mark; a point counts as a disc of 3 % of the page's width."""
    if not mark or not points:
        return None
    if mark == "point":
        across = POINT_SHARE * sheet.page_width
        down = across * sheet.width_mm / sheet.height_mm
        x, y = points[0]
        return Region(x - across / 2, y - down / 2, across, down)
    xs, ys = [point[0] for point in points], [point[1] for point in points]
    return Region(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def area_of(mark: str, points: Sequence[Sequence[float]], sheet: Sheet) -> float:
    """Area of a mark in sheet fractions; loops and polygons by their own (shoelace)."""
    region = region_of(mark, points, sheet)
    if region is None:
        return 0.0
    if mark in OUTLINES:
        shifted = [*points[1:], points[0]]
        twice = sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(points, shifted, strict=True)
        )
        return abs(twice) / 2
    return region.area * (math.pi / 4 if mark == "point" else 1)


def overlap(one: Region, other: Region) -> float:
    """How much of the smaller region the two share, 0 to 1."""
    smaller = min(one.area, other.area)
    return one.shared_with(other) / smaller if smaller else 0.0


def clash_candidates(
    directions: Iterable[Placed], ruled: frozenset[frozenset[str]]
) -> list[tuple[str, str, float]]:
    """Pairs of open directions that the art director must look at.

    By different writers, not ruled yet, sharing 30 % of the smaller; a region of 80 %
    of the sheet or more, or no region, is never one (common practice, no source).
    """
    found = []
    for one, other in combinations(directions, 2):
        if one.by == other.by or frozenset({one.key, other.key}) in ruled:
            continue
        if one.region is None or other.region is None:
            continue
        if max(one.region.area, other.region.area) >= WHOLE_SHEET:
            continue
        share = overlap(one.region, other.region)
        if share >= PAIR_SHARE:
            found.append((one.key, other.key, share))
    return found


def clockwise(points: Sequence[Sequence[float]], width_to_height: float = 2.0) -> float:
    """Where a mark comes in the order of a note sheet: clockwise from twelve o'clock.

    Turns round the sheet's middle, 0 to 1; marks without a place come first, as -1.
    """
    if not points:
        return -1.0
    x = sum(point[0] for point in points) / len(points) - 0.5
    y = sum(point[1] for point in points) / len(points) - 0.5
    return math.atan2(x * width_to_height, -y) / (2 * math.pi) % 1.0
