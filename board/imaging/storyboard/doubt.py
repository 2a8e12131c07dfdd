"""Why a cut should be asked about: what a person would look at twice."""

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np

from board.imaging.colour import Floats
from board.imaging.storyboard.boxes import Box, overlap
from board.imaging.storyboard.layout import Layout, gaps, rows_of, touching, usual
from board.imaging.storyboard.lines import FAINTEST, Lines
from board.imaging.storyboard.paper import Straight

ANOTHER_WAY: Final = "the lines could be read another way"
HOLE: Final = "there is a hole in a row"
EDGES: Final = "frames are edges of colour, not drawn lines"
NUMBER: Final = "the number of frames is unusual"
ODD: Final = "the frames differ in size"
OUTSIDE: Final = "much lies outside the frames"
NEAR: Final = 0.8
LEAST, MOST = 8, 22
SEEN: Final = 0.7  # a frame drawn so well needs no neighbours to vouch for it
NEAR_SIDE: Final = 6
ALIKE: Final = 0.15  # by the logarithm of two lengths
ALONG: Final = 9  # pixels beside a side and past its ends
STROKES: Final = 0.65  # share of the sides that must be strokes, not edges of washes


def doubts_about(
    found: Layout, others: Sequence[Layout], sheet: Straight, lines: Lines
) -> list[str]:
    """Sentences for what is doubtful; none when the cut can be trusted."""
    boxes = found.boxes
    asked = {
        NUMBER: not LEAST <= len(boxes) <= MOST,
        "a frame is hardly drawn": any(box.drawn < 0.6 for box in boxes),
        "a frame was placed by its neighbours": any(
            box.guessed and box.drawn < SEEN for box in boxes
        ),
        "some frames touch and some do not": found.uneven > 0.45
        or bool(touching(boxes)),
        ANOTHER_WAY: _another(found, others),
        ODD: _odd(boxes),
        HOLE: _hole(boxes),
        EDGES: strokes(boxes, lines) < STROKES,
        OUTSIDE: _outside(boxes, sheet, lines),
    }
    return [says for says, is_so in asked.items() if is_so]


def _another(found: Layout, others: Sequence[Layout]) -> bool:
    """Another set with other frames explains nearly as much."""
    for other in others[:6]:
        if other.worth < NEAR * others[0].worth:
            break
        same = sum(_told(box, found.boxes) for box in other.boxes)
        if same < 0.6 * len(other.boxes):
            return True
    return False


def _told(box: Box, boxes: Sequence[Box]) -> bool:
    """A box is one of these, or what some of them are parts of."""
    if any(_same(box, one) for one in boxes):
        return True
    parts = [one for one in boxes if one.area < box.area and overlap(box, one) > 0.85]
    return len(parts) > 1 and sum(one.area for one in parts) > 0.7 * box.area


def _same(one: Box, two: Box) -> bool:
    return overlap(one, two) > 0.8 and 0.7 < one.area / max(1.0, two.area) < 1.4


def _odd(boxes: Sequence[Box]) -> bool:
    """Frames have more than two sizes: a lone first and last page are let pass.

    Single pages beside spreads are two widths at one height.
    """
    wide, high = usual(boxes)
    tall = [box for box in boxes if abs(np.log(box.height / high)) > ALIKE]
    other = [
        box.width
        for box in boxes
        if box not in tall and abs(np.log(box.width / wide)) > ALIKE
    ]
    middle = float(np.median(other)) if other else wide
    third = [width for width in other if abs(np.log(width / middle)) > ALIKE]
    if len(tall) + len(other) <= 2:
        return False
    return bool(tall or third or min(box.drawn for box in boxes) < SEEN)


def _hole(boxes: Sequence[Box]) -> bool:
    """A row has room for a frame between two of its frames, or before its first."""
    wide, _ = usual(boxes)
    spaces = np.array(gaps(boxes, across=True))
    if len(spaces) and (spaces > np.median(spaces) + 0.8 * wide).any():
        return True
    starts = [row[0].x0 for row in rows_of(boxes)]
    return bool(max(starts) - min(starts) > 0.75 * wide)


def _outside(boxes: Sequence[Box], sheet: Straight, lines: Lines) -> bool:
    """Two lines as long and as far apart as sides, and no frame explains them."""
    cover = np.zeros(lines.level.shape, np.uint8)
    for box in boxes:
        y0, y1 = max(0, int(box.y0) - 14), int(box.y1) + 15
        x0, x1 = max(0, int(box.x0) - 14), int(box.x1) + 15
        cover[y0:y1, x0:x1] = 1
    wide, high = usual(boxes)
    left = (lines.upright * (1 - cover) * sheet.inside).astype(np.uint8)
    stats = cv2.connectedComponentsWithStats(left)[2][1:]
    x, y, across, tall = stats[:, :4].T
    side = (tall > 0.6 * high) & (tall < 1.6 * high) & (across < 0.3 * tall)
    x, y, tall = x[side], y[side], tall[side]
    apart = np.abs(x[:, None] - x)
    beside = np.minimum((y + tall)[:, None], y + tall) - np.maximum(y[:, None], y)
    pairs = (apart > 0.3 * wide) & (apart < 1.6 * wide) & (beside > 0.5 * high)
    return bool(pairs.any())


def explained(boxes: Sequence[Box], lines: Lines) -> float:
    """Share of all lines, level and upright, that lie along a side of a box, 0 .. 1."""
    level, upright = np.zeros_like(lines.level), np.zeros_like(lines.upright)
    for box in boxes:
        x0, x1 = _ends(box.x0, box.x1)
        y0, y1 = _ends(box.y0, box.y1)
        for y in (box.y0, box.y1):
            level[slice(*_ends(y, y)), x0:x1] = 1
        for x in (box.x0, box.x1):
            upright[y0:y1, slice(*_ends(x, x))] = 1
    shares = [
        float((mask * along).sum()) / max(1.0, float(mask.sum()))
        for mask, along in ((lines.level, level), (lines.upright, upright))
    ]
    return float(np.mean(shares))


def _ends(start: float, end: float) -> tuple[int, int]:
    return max(0, round(start) - ALONG), round(end) + ALONG + 1


def strokes(boxes: Sequence[Box], lines: Lines) -> float:
    """Share of the sides that is a stroke rather than the edge of a wash, 0 .. 1."""
    level = lines.level_strength, lines.level_stroke
    upright = lines.upright_strength.T, lines.upright_stroke.T
    found = [
        share
        for box in boxes
        for strength, at, ends in (
            (level, box.y0, (box.x0, box.x1)),
            (level, box.y1, (box.x0, box.x1)),
            (upright, box.x0, (box.y0, box.y1)),
            (upright, box.x1, (box.y0, box.y1)),
        )
        if (share := _stroke(strength, at, ends)) is not None
    ]
    return float(np.mean(found)) if found else 0.0


def _stroke(
    strength: tuple[Floats, Floats], at: float, ends: tuple[float, float]
) -> float | None:
    """Share of one side where the darkest place near it is darker than both banks."""
    first, last = max(0, round(at) - NEAR_SIDE), round(at) + NEAR_SIDE + 1
    start, end = max(0, round(ends[0]) + NEAR_SIDE), round(ends[1]) - NEAR_SIDE
    whole = strength[0][first:last, start:end]
    if whole.size == 0:
        return None
    most, stroke = whole.max(axis=0), strength[1][first:last, start:end].max(axis=0)
    there = most > FAINTEST
    return float((stroke[there] > 0.6 * most[there]).mean()) if there.any() else None
