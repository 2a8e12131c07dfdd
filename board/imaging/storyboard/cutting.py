"""A storyboard sheet in, its frames in reading order out, and whether to ask."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes
from board.imaging.storyboard import layout
from board.imaging.storyboard.boxes import Box, Support, overlap
from board.imaging.storyboard.corners import cornered
from board.imaging.storyboard.doubt import (
    ANOTHER_WAY,
    EDGES,
    HOLE,
    NUMBER,
    ODD,
    OUTSIDE,
    STROKES,
    doubts_about,
    explained,
    strokes,
)
from board.imaging.storyboard.lattice import lattices
from board.imaging.storyboard.layout import Layout
from board.imaging.storyboard.lines import Lines, lines_of
from board.imaging.storyboard.pages import parted_pages
from board.imaging.storyboard.paper import Straight, straightened
from board.imaging.storyboard.rows import by_rows
from board.imaging.storyboard.sizes import Coarse, SizeFound
from board.imaging.storyboard.unframed import parted

FEWEST: Final = 6
NO_FRAMES: Final = ({ANOTHER_WAY, HOLE}, {ANOTHER_WAY, ODD})
SCATTERED: Final = {NUMBER, HOLE, OUTSIDE}
UNTOLD: Final = (0.24, 0.3)  # of all lines, along plainly drawn boxes and others
GOES_ON: Final = 0.35  # of the places just past corners
WELL, TOLD = 0.9, 0.4
STRIP: Final = 4.8  # times as wide as high: no spread is
MANY: Final = 3  # doubts, from which on the lines may be no frames at all
PLAIN: Final = 0.86
BEYOND: Final = 1.4
FILLS: Final = 1.6  # times as large as a picture, for a box that it fills
LEFT_OVER: Final = 0.02  # of a squared page on lines that are not its own
Points = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Frame:
    """A frame: corners (4, 2) x, y in the picture's pixels, clockwise from top left."""

    corners: Points
    confidence: float


@dataclass(frozen=True)
class Cut:
    """The frames in reading order; where not `sure`, a person must look."""

    frames: list[Frame] = field(default_factory=list)
    sure: bool = False
    doubts: tuple[str, ...] = ()


def cut(picture: Bytes) -> Cut:
    """Find the frames of a storyboard sheet.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3), sRGB, upright
    """
    sheet = straightened(picture)
    lines = lines_of(sheet)
    support = Support(lines)
    coarse = Coarse(lines)
    sizes = coarse.sizes()
    layouts = layout.best_layouts(sizes, coarse, support)
    layouts = [*layouts, *lattices(layouts, support), *by_rows(layouts, support)]
    layouts = sorted(map(layout.in_rows, layouts), key=lambda one: -one.worth)
    drawn = _drawn(layouts, sizes, support)
    if drawn is None:
        return _without_frames(parted(sheet, lines), sheet, lines)
    doubts = doubts_about(drawn, layouts, sheet, lines)
    hardly = not _plainly(drawn, lines)
    untold = _untold(drawn, lines, plain=not hardly)
    pieces = parted(sheet, lines) if doubts or untold else []
    if _within(drawn, pieces) or (EDGES in doubts and len(pieces) >= len(drawn.boxes)):
        return _without_frames(pieces, sheet, lines)
    if len(doubts) >= MANY and hardly and pieces and not _around(drawn, pieces):
        return _without_frames(pieces, sheet, lines)
    if untold or _no_frames(set(doubts)):
        if pieces:
            return _without_frames(pieces, sheet, lines)
        return Cut(doubts=("lines, but hardly frames", *doubts))
    if _outweighed(doubts, drawn, lines):
        doubts = []
    return Cut(framed(drawn, lines, sheet), not doubts, tuple(doubts))


def _within(found: Layout, pieces: Sequence[Box]) -> bool:
    """Most boxes are parts of small pictures that reach well beyond them."""
    larger = [
        any(
            overlap(box, piece) > 0.8 and piece.area > BEYOND * box.area
            for piece in pieces
        )
        for box in found.boxes
    ]
    return bool(np.mean(larger) > 0.5)


def _around(found: Layout, pieces: Sequence[Box]) -> bool:
    """Most small pictures fill one of the boxes each: both say the same."""
    filled = [
        any(
            overlap(box, piece) > 0.8
            and piece.area < FILLS * box.area < FILLS**2 * piece.area
            for box in found.boxes
        )
        for piece in pieces
    ]
    return bool(np.mean(filled) > 0.6)


def _no_frames(doubts: set[str]) -> bool:
    """Hardly anything speaks for frames, or what there is are edges of washes."""
    if doubts >= SCATTERED:
        return True
    painted = EDGES in doubts and len(doubts) > MANY + 1
    return painted or (len(doubts) > MANY and any(doubts >= one for one in NO_FRAMES))


def _untold(found: Layout, lines: Lines, *, plain: bool) -> bool:
    """Most lines run along no box, as in writing or a painting, or boxes are strips.

    Frames may be full of lines, but these end at them.
    """
    wide, high = layout.usual(found.boxes)
    least = UNTOLD[0] if plain else UNTOLD[1]
    runs_on = float(np.mean([box.past for box in found.boxes])) > GOES_ON
    few = runs_on and explained(found.boxes, lines) < least
    return few or wide > STRIP * high


def _outweighed(doubts: Sequence[str], found: Layout, lines: Lines) -> bool:
    """One doubt alone, where every frame is whole and most lines are its sides."""
    whole = min(box.drawn for box in found.boxes) >= WELL
    single = len(doubts) == 1 and not {NUMBER, EDGES} & set(doubts)
    return single and whole and explained(found.boxes, lines) >= TOLD


def _plainly(found: Layout, lines: Lines) -> bool:
    """Most frames have all their sides, and these are strokes."""
    middle = float(np.median([box.drawn for box in found.boxes]))
    return middle > PLAIN and strokes(found.boxes, lines) >= STROKES


def _drawn(
    layouts: Sequence[Layout], sizes: Sequence[SizeFound], support: Support
) -> Layout | None:
    """The best set made whole, if it can be frames at all."""
    if not layouts:
        return None
    best = layouts[0]
    if best.lattice:
        best = layout.completed(best, support, 0.75)
    else:
        best = layout.without_touching(layout.without_stray(best))
        best = layout.with_lone(best, sizes, support)
        best = layout.completed(best, support)
        best = layout.closed(best, support)
        best = replace(best, boxes=parted_pages(best.boxes, support))
    strong = [box for box in best.boxes if box.drawn > 0.7]
    if len(best.boxes) < FEWEST or len(strong) < 0.4 * len(best.boxes):
        return None
    return best


def _without_frames(pieces: Sequence[Box], sheet: Straight, lines: Lines) -> Cut:
    """Small pictures that only white keeps apart, always asked about; or nothing."""
    frames = [
        Frame(cv2.perspectiveTransform(_square(box), sheet.matrix)[0], 0.4)
        for row in layout.rows_of(pieces)
        for box in row
    ]
    if frames:
        return Cut(frames, sure=False, doubts=("no frames are drawn",))
    left = min(side[sheet.inside].mean() for side in (lines.level, lines.upright))
    if lines.squared and left > LEFT_OVER:
        return Cut(doubts=("lines on squared paper, and no frames among them",))
    return Cut(sure=True)


def _square(box: Box) -> Points:
    return np.array([[[box.x0, box.y0], [box.x1, box.y0], [box.x1, box.y1],
                      [box.x0, box.y1]]])  # fmt: skip


def framed(found: Layout, lines: Lines, sheet: Straight) -> list[Frame]:
    """Take the boxes, in reading order, back to the picture."""
    rows = layout.rows_of(found.boxes)
    return [_frame(box, lines, sheet) for row in rows for box in row]


def _frame(box: Box, lines: Lines, sheet: Straight) -> Frame:
    corners = cornered(box, lines)[None]
    return Frame(cv2.perspectiveTransform(corners, sheet.matrix)[0], box.drawn)
