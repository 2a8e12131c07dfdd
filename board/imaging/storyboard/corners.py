"""Corners of a frame that is not quite square: a line through each side, and where they meet."""

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats
from board.imaging.storyboard.boxes import Box
from board.imaging.storyboard.lines import Lines

REACH: Final = 8
STEEPEST: Final = 0.05
Points = npt.NDArray[np.float64]


def cornered(box: Box, lines: Lines) -> Points:
    """Give the four corners, (4, 2) x, y on the straightened sheet, from the top left."""
    level = lines.level_strength * lines.level
    upright = (lines.upright_strength * lines.upright).T
    top = _through(level, box.y0, (box.x0, box.x1))
    low = _through(level, box.y1, (box.x0, box.x1))
    left = _through(upright, box.x0, (box.y0, box.y1))
    right = _through(upright, box.x1, (box.y0, box.y1))
    pairs = ((top, left), (top, right), (low, right), (low, left))
    return np.array([_meet(flat, steep) for flat, steep in pairs])


def _through(
    strength: Floats, at: float, ends: tuple[float, float]
) -> Callable[[float], float]:
    """Fit a line to the darkest places near a side; a straight one without enough."""
    a, b = (int(np.clip(round(end), 0, strength.shape[1])) for end in ends)
    first = int(np.clip(round(at) - REACH, 0, strength.shape[0] - 1))
    part = strength[first : round(at) + REACH + 1, a:b]
    if part.size == 0 or b - a < 8:
        return lambda _: at
    rows = first + np.arange(len(part))
    weight = part.astype(np.float64) ** 2
    weight *= np.exp(-(((rows - at) / REACH) ** 2))[:, None]
    total = weight.sum(axis=0)
    there = total > 1e-5
    if there.mean() < 0.3:
        return lambda _: at
    along = np.arange(a, b)[there] - (a + b) / 2
    place = (weight * rows[:, None]).sum(axis=0)[there] / total[there]
    slope, middle = 0.0, float(np.median(place))
    for reach in (4.0, 2.5, 2.0):
        off = place - (middle + slope * along)
        close = 1 / (1 + (off / reach) ** 2)
        slope, middle = np.polyfit(along, place, 1, w=np.sqrt(close))
        slope = float(np.clip(slope, -STEEPEST, STEEPEST))
    centre = (a + b) / 2
    return lambda x: float(middle + slope * (x - centre))


def _meet(
    flat: Callable[[float], float], steep: Callable[[float], float]
) -> tuple[float, float]:
    """Where a level and an upright side meet."""
    x = steep(0.0)
    y = flat(x)
    for _ in range(4):
        x = steep(y)
        y = flat(x)
    return x, y
