"""Tracings and note sheets as geometry: paper, tiles, and where labels go.

The plane of a tracing is in millimetres at art size, from the upper left corner of the
quiet margin round the bled art, y downwards.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from board.errors import NotUnderstood

QUIET_MM = 20.0  # round the original, common practice, no source
OVERLAP_MM = 15.0
BAR_MM = 100.0
EDGE_MM = 8.0  # what most printers cannot reach is less, common practice, no source
LEFT_MM = 20.0  # the standing check bar lies here
FOOT_MM = 30.0  # the lying check bar and the words
LABEL_MM = (24.0, 6.0)


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright; millimetres."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def turned(self) -> "Paper":
        return Paper(self.name, self.height_mm, self.width_mm)


# ISO 216; Letter is 8.5 x 11 in (ANSI/ASME Y14.1).
PAPERS = {
    "a4": Paper("A4", 210.0, 297.0),
    "letter": Paper("Letter", 215.9, 279.4),
    "a3": Paper("A3", 297.0, 420.0),
}
OWN = "own"  # one page as large as the art


@dataclass(frozen=True)
class Box:
    """A rectangle in millimetres."""

    x: float
    y: float
    width: float
    height: float

    def shared_with(self, other: "Box") -> "Box | None":
        """The part two rectangles share, if any."""
        left, top = max(self.x, other.x), max(self.y, other.y)
        right = min(self.x + self.width, other.x + other.width)
        low = min(self.y + self.height, other.y + other.height)
        if right <= left or low <= top:
            return None
        return Box(left, top, right - left, low - top)


@dataclass(frozen=True)
class Art:
    """The art's trimmed size on the page of the book, bleed, and how much it is up."""

    width_mm: float
    height_mm: float
    bleed_mm: float
    percent: float = 100.0
    double: bool = True

    @property
    def scale(self) -> float:
        return self.percent / 100.0

    @property
    def around_mm(self) -> float:
        """From the edge of the plane to the trim."""
        return QUIET_MM + self.bleed_mm * self.scale

    @property
    def size_mm(self) -> tuple[float, float]:
        """The whole plane."""
        around = 2 * self.around_mm
        return self.width_mm * self.scale + around, self.height_mm * self.scale + around

    @property
    def trim(self) -> Box:
        width, height = self.width_mm * self.scale, self.height_mm * self.scale
        return Box(self.around_mm, self.around_mm, width, height)

    @property
    def bled(self) -> Box:
        width, height = self.size_mm
        inner = 2 * QUIET_MM
        return Box(QUIET_MM, QUIET_MM, width - inner, height - inner)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A place on the sheet as millimetres of the plane."""
        trim = self.trim
        return trim.x + x * trim.width, trim.y + y * trim.height

    def crosses(self) -> list[tuple[float, float]]:
        """Middles of the four register crosses, in the quiet margin."""
        width, height = self.size_mm
        half = QUIET_MM / 2
        return [(x, y) for y in (half, height - half) for x in (half, width - half)]


@dataclass(frozen=True)
class Tiling:
    """How a plane is spread over pages of one paper."""

    paper: Paper
    columns: int
    rows: int
    windows: tuple[Box, ...]

    @property
    def many(self) -> int:
        return len(self.windows)


def tiling(art: Art, name: str) -> Tiling:
    """Spread the plane over as few pages as possible, upright or turned.

    Raises
    ------
    NotUnderstood
        when there is no such paper.
    """
    if name == OWN:
        width, height = art.size_mm
        paper = Paper("own size", width + LEFT_MM + EDGE_MM, height + FOOT_MM + EDGE_MM)
        return Tiling(paper, 1, 1, (Box(0.0, 0.0, width, height),))
    if name not in PAPERS:
        raise NotUnderstood("Paper is A4, Letter, A3, or one page at its own size.")
    upright = PAPERS[name]
    return min(
        (_spread(art, upright.turned), _spread(art, upright)), key=lambda one: one.many
    )


def _spread(art: Art, paper: Paper) -> Tiling:
    across = paper.width_mm - LEFT_MM - EDGE_MM
    down = paper.height_mm - FOOT_MM - EDGE_MM
    whole = art.size_mm
    columns = _steps(whole[0], across)
    rows = _steps(whole[1], down)
    windows = tuple(
        Box(x, y, across, down)
        for y in _starts(whole[1], down, rows)
        for x in _starts(whole[0], across, columns)
    )
    return Tiling(paper, columns, rows, windows)


def _steps(whole: float, window: float) -> int:
    return max(1, math.ceil((whole - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9))


def _starts(whole: float, window: float, many: int) -> list[float]:
    """Where each window begins: evenly, so that overlaps are alike and none too thin."""
    if many == 1:
        return [(whole - window) / 2]
    step = (whole - window) / (many - 1)
    return [number * step for number in range(many)]


def label_places(
    regions: Sequence[Box], within: Box, size: tuple[float, float] = LABEL_MM
) -> list[Box]:
    """Where each label stands: beside its region, off the others, inside the art.

    Tried in turn: above, below, right, left, each at three places and two distances.
    When all is taken the least covered place wins, so no label is ever left out.
    """
    placed: list[Box] = []
    for number, region in enumerate(regions):
        others = [*placed, *(one for at, one in enumerate(regions) if at != number)]
        tried = [_kept(one, within) for one in _around(region, size)]
        placed.append(
            min(
                tried, key=lambda one: _covered(one, placed) * 4 + _covered(one, others)
            )
        )
    return placed


def _around(region: Box, size: tuple[float, float]) -> Iterable[Box]:
    width, height = size
    for gap in (3.0, 9.0):
        for share in (0.0, 0.5, 1.0):
            x = region.x + (region.width - width) * share
            y = region.y + (region.height - height) * share
            yield Box(x, region.y - gap - height, width, height)
            yield Box(x, region.y + region.height + gap, width, height)
            yield Box(region.x + region.width + gap, y, width, height)
            yield Box(region.x - gap - width, y, width, height)


def _kept(box: Box, within: Box) -> Box:
    x = min(max(box.x, within.x), within.x + within.width - box.width)
    y = min(max(box.y, within.y), within.y + within.height - box.height)
    return Box(x, y, box.width, box.height)


def _covered(box: Box, others: Iterable[Box]) -> float:
    shares = (box.shared_with(one) for one in others)
    return sum(one.width * one.height for one in shares if one)


@dataclass(frozen=True)
class Side:
    """One side of a sheet of the dummy, left and right page; 0 is an empty page."""

    left: int
    right: int


def readers_spreads(extent: int) -> list[Side]:
    """Pages as they meet when the book is read: 1 alone, 2 and 3, and so on."""
    sides = [Side(0, 1)]
    sides += [Side(page, page + 1) for page in range(2, extent, 2)]
    return [*sides, Side(extent, 0)]


def printers_pairs(extent: int) -> list[Side]:
    """Pages as they are printed to be folded once and stapled, fronts and backs.

    Pages of a side add up to extent + 1 (imposition of a saddle-stitched booklet,
    common practice, no source). An extent that is no multiple of four is filled up
    with empty pages at the end.
    """
    whole = math.ceil(extent / 4) * 4
    sides = []
    for sheet in range(whole // 4):
        low = 2 * sheet + 1
        sides.append(Side(whole + 1 - low, low))
        sides.append(Side(low + 1, whole - low))
    return [
        Side(*(page if page <= extent else 0 for page in (side.left, side.right)))
        for side in sides
    ]
