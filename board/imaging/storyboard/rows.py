"""Frames of several widths in rows of one height: single pages beside spreads."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Final, TypeVar

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.boxes import Box, Support, overlap
from board.imaging.storyboard.layout import DRAWN, Layout, rows_of, usual, weighed

LOOKED_AT: Final = 8  # sets whose rows are tried
SIDE: Final = 0.62  # share of a row's height that must be drawn to be a side
THIN: Final = 0.5  # the same of what is drawn right there
NEAR: Final = 12.0
APART: Final = 7.0  # pixels between neighbours, so that a fold is no pair of sides
SAME: Final = 5.0
CLOSE: Final = 0.35  # of a row's height: as far as neighbours stand apart at most
PLAIN: Final = 0.7
ALIKE: Final = 0.15  # by the logarithm of two heights
KEPT: Final = 0.7
LARGER: Final = 1.3
SLIMMEST, WIDEST = 0.35, 4.5
PAST: Final = 0.35
Many = npt.NDArray[np.float64]
Row = tuple[float, float, list[Box], float]
Kind = TypeVar("Kind")


def by_rows(layouts: Sequence[Layout], support: Support) -> list[Layout]:
    """Read rows that other sets found once more, each frame as wide as it is drawn.

    References
    ----------
    Kleinberg and Tardos, Algorithm Design, 2005, section 6.1: weighted intervals
    that do not overlap, first along each row, then down the sheet.
    """
    heights: list[tuple[float, float]] = []
    for layout in layouts[:LOOKED_AT]:
        for row in rows_of(layout.boxes):
            y0 = float(np.median([box.y0 for box in row]))
            y1 = float(np.median([box.y1 for box in row]))
            if all(abs(y0 - a) + abs(y1 - b) > 2 * SAME for a, b in heights):
                heights.append((y0, y1))
    rows = [_row(y0, y1, support) for y0, y1 in heights]
    best = _apart(rows, lambda row: (row[0], row[1], row[3]), 0.0)
    boxes = support.placed([box for row in best for box in row[2]], 0.03)
    return [weighed(boxes)] if layouts and _sound(boxes, layouts[0]) else []


def _sound(boxes: Sequence[Box], other: Layout) -> bool:
    """Frames are of one height and plainly drawn, and none of another set is lost."""
    if len(boxes) < 2 or min(box.drawn for box in boxes) < PLAIN:
        return False
    high = usual(boxes)[1]
    if max(abs(np.log(box.height / high)) for box in boxes) > ALIKE:
        return False
    return all(
        any(overlap(box, one) > KEPT and one.area < LARGER * box.area for one in boxes)
        for box in other.boxes
    )


def _row(y0: float, y1: float, support: Support) -> Row:
    """The frames between two heights that explain most of what is drawn there."""
    xs = np.arange(support.shape[1], dtype=np.float64)
    cut = 0.06 * (y1 - y0)
    ends = np.full(len(xs), y0 + cut), np.full(len(xs), y1 - cut)
    thin = _peaks(support.down_thin(xs, *ends), THIN)
    near = _peaks(support.down(xs, *ends), SIDE)
    alone = [x for x in near if not len(thin) or np.abs(thin - x).min() > NEAR]
    sides = np.sort([*thin, *alone])
    left, right = np.meshgrid(sides, sides, indexing="ij")
    ratio = (right - left) / max(1.0, y1 - y0)
    fair = (ratio > SLIMMEST) & (ratio < WIDEST)
    for between in _divisions(sides, y0, y1, support):
        fair &= (left > between) | (right < between)
    if not fair.any():
        return y0, y1, [], 0.0
    x0, x1 = left[fair], right[fair]
    at = np.stack([x0, np.full(len(x0), y0), x1, np.full(len(x0), y1)], axis=-1)
    boxes = [
        Box(a, b, c, d, sides=tuple(four), ends=tuple(on))
        for (a, b, c, d), four, on in zip(
            at.tolist(),
            support.sides(at).tolist(),
            support.ends(at).tolist(),
            strict=True,
        )
    ]
    boxes = [box for box in boxes if box.drawn >= DRAWN]
    chosen = _apart(boxes, lambda box: (box.x0, box.x1, _worth(box)), APART)
    return y0, y1, chosen, sum(map(_worth, chosen))


def _divisions(sides: Many, y0: float, y1: float, support: Support) -> list[float]:
    """The middles of white between two frames: sides near each other, and no third."""
    far = np.diff(sides)
    near = (far > APART) & (far < CLOSE * (y1 - y0))
    a, wide = sides[:-1][near], far[near]
    ends = a + 0.35 * wide, a + 0.65 * wide
    drawn = np.minimum(
        support.across(np.full(len(a), y0), *ends),
        support.across(np.full(len(a), y1), *ends),
    )
    return [float(middle) for middle in (a + wide / 2)[drawn < 0.5]]


def _worth(box: Box) -> float:
    return float((box.drawn - 0.5 - PAST * box.past) * box.area**0.7)


def _peaks(drawn: Many, least: float) -> Many:
    """Where an upright side may be: the middles of what stands out."""
    soft = cv2.blur(drawn.astype(np.float32)[:, None], (1, 5))[:, 0]
    top = cv2.dilate(soft[:, None], np.ones((13, 1), np.uint8))[:, 0]
    at = np.flatnonzero((soft >= top) & (soft > least))
    groups = np.split(at, np.flatnonzero(np.diff(at) > SAME) + 1) if len(at) else []
    return np.array([float(group.mean()) for group in groups])


def _apart(
    things: Sequence[Kind],
    reach: Callable[[Kind], tuple[float, float, float]],
    gap: float,
) -> list[Kind]:
    """Choose what lies apart by at least a gap and is worth most together."""
    told = sorted(((*reach(one), at) for at, one in enumerate(things)), key=_end)
    told = [one for one in told if one[2] > 0]
    ends = [_end(one) for one in told]
    best: list[tuple[float, int]] = [(0.0, -1)]  # worth, and which one came last
    before: list[int] = []
    for number, (begins, _, worth, _) in enumerate(told):
        before.append(bisect_right(ends, begins - gap, 0, number))
        took = best[before[-1]][0] + worth
        best.append(max(best[-1], (took, number)))
    chosen: list[Kind] = []
    number = len(told)
    while number > 0:
        last = best[number][1]
        if last != number - 1 or best[number][0] == best[number - 1][0]:
            number -= 1
            continue
        chosen.append(things[told[last][3]])
        number = before[last]
    return chosen[::-1]


def _end(one: tuple[float, float, float, int]) -> float:
    return one[1]
