"""Frames that share their sides: a lattice of lines, each across the whole of it."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.boxes import Box, Support
from board.imaging.storyboard.layout import Layout, gaps, weighed

THROUGH: Final = 0.72
LEAST_CELL: Final = 24
CLEARER: Final = 0.008
WHITE: Final = 14.0  # pixels between frames that have sides of their own
Many = npt.NDArray[np.float64]


def lattices(layouts: Sequence[Layout], support: Support) -> list[Layout]:
    """Read the best sets once more as lattices; those that are none fall out."""
    found: list[Layout] = []
    for one in layouts[:5]:
        if len(one.boxes) < 2:
            continue
        reach = (
            min(box.x0 for box in one.boxes),
            min(box.y0 for box in one.boxes),
            max(box.x1 for box in one.boxes),
            max(box.y1 for box in one.boxes),
        )
        found += _within(reach, support)
    return [one for one in found if not _stands_apart(one, layouts)]


def _stands_apart(lattice: Layout, layouts: Sequence[Layout]) -> bool:
    """As many frames or more, better drawn, and white between them: no lattice."""
    own = _drawn(lattice)
    for one in layouts:
        spaces = gaps(one.boxes, across=True)
        if (
            len(one.boxes) >= len(lattice.boxes)
            and _drawn(one) > own + CLEARER
            and spaces
            and float(np.median(spaces)) > WHITE
        ):
            return True
    return False


def _drawn(layout: Layout) -> float:
    """How far the sides of a set are drawn on average, 0 to 1."""
    return float(np.mean([box.drawn for box in layout.boxes]))


def _within(reach: tuple[float, ...], support: Support) -> list[Layout]:
    x0, y0, x1, y1 = reach
    ys = np.arange(y0 - 12, y1 + 13)
    xs = np.arange(x0 - 12, x1 + 13)
    level = support.across(ys, np.full(len(ys), x0 + 4), np.full(len(ys), x1 - 4))
    steep = support.down(xs, np.full(len(xs), y0 + 4), np.full(len(xs), y1 - 4))
    rows, columns = _peaks(level, ys), _peaks(steep, xs)
    found = [
        _cells(some_rows, some_columns, support)
        for some_rows in [rows, *_even(rows)]
        for some_columns in [columns, *_even(columns)]
    ]
    return [one for one in found if one is not None]


def _even(lines: Many) -> list[Many]:
    """Choose lines that stand at even steps from the first to the last."""
    found: list[Many] = []
    if len(lines) < 3:
        return found
    for many in range(2, 9):
        wanted = np.linspace(lines[0], lines[-1], many + 1)
        off = np.abs(lines[None] - wanted[:, None])
        if off.min(axis=1).max() < 0.09 * (wanted[1] - wanted[0]):
            found.append(lines[off.argmin(axis=1)])
    return found


def _peaks(share: Many, at: Many) -> Many:
    """The middles of stretches where a line goes through."""
    soft = cv2.blur(share.astype(np.float32)[:, None], (1, 5))[:, 0]
    found: list[float] = []
    on = soft > THROUGH
    start = None
    for k, flag in enumerate([*on, False]):
        if flag and start is None:
            start = k
        elif not flag and start is not None:
            part = np.arange(start, k)
            found.append(float(np.average(at[part], weights=soft[part] - 0.6)))
            start = None
    return np.array(found)


def _cells(rows: Many, columns: Many, support: Support) -> Layout | None:
    wide, high = np.diff(columns), np.diff(rows)
    if len(wide) < 2 or len(high) < 2:
        return None
    for steps in (wide, high):
        if steps.min() < max(LEAST_CELL, 0.6 * np.median(steps)):
            return None
        if steps.max() > 1.6 * np.median(steps):
            return None
    boxes = [
        support.weighed(Box(float(x0), float(y0), float(x1), float(y1)))
        for y0, y1 in pairwise(rows)
        for x0, x1 in pairwise(columns)
    ]
    boxes = [box for box in boxes if box.drawn > 0.75]
    return weighed(boxes, lattice=True) if len(boxes) >= 4 else None
