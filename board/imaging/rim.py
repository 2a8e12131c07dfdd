"""A thin rim of bare paper between the table and the paint of a shot.

A rim of half a millimetre is two or three pixels wide in a shot at 120 pixels an inch:
too soft ever to reach paper white. So it is fitted: table, paper, paint, each even,
with soft steps between them.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from board.imaging.colour import Doubles

PAPER = 250.0  # darkest channel of bare paper, as `bleed.WHITE` allows from 238 up
SOFT_PX = (0.6, 0.9, 1.3)
BEFORE_MM, REACH_MM, AFTER_MM = 1.0, 1.2, 0.9
WIDTH_STEP_PX, PLACE_STEP_PX = 0.3, 0.4
FINEST = 8.0  # pixels a millimetre; finer pictures are halved first
LEAST_STEP = 8.0  # of 255, by which paper stands out from paint
LEAST_GAIN = 0.5  # of the misfit that a rim must take away
SINGULAR = 1e-9


@dataclass(frozen=True)
class Rims:
    """For each piece of an edge: where the art begins, how wide the rim is, if any.

    `begins` and `width` are pixels inwards from the bleed edge; `width` is 0 where
    the fit is no better than without a rim.
    """

    begins: Doubles
    width: Doubles


def window_mm() -> tuple[float, float]:
    """How far outside and inside of the bleed edge the fit looks, in millimetres."""
    return BEFORE_MM, REACH_MM + AFTER_MM


def fit_rims(lowest: Doubles, *, edge_row: float, px_per_mm: float) -> Rims:
    """Fit table, paper and paint to the pieces of an edge.

    Parameters
    ----------
    lowest : float array of shape (rows, pieces), the darkest channel, 0 to 255; rows go
        inwards over `window_mm`.
    edge_row : where the bleed edge lies, in rows from the array's first edge.
    px_per_mm : rows a millimetre.

    References
    ----------
    Least squares over a grid of places and widths; the steps are Gaussian edges.
    """
    if px_per_mm > FINEST:
        even = lowest[: len(lowest) // 2 * 2]
        half = fit_rims(
            (even[::2] + even[1::2]) / 2, edge_row=edge_row / 2, px_per_mm=px_per_mm / 2
        )
        return Rims(half.begins * 2, half.width * 2)
    rows = lowest.shape[0]
    flat = _misfits(lowest, np.array([0.0]), _places(rows, edge_row, px_per_mm))
    widths = np.arange(0.2 * px_per_mm, REACH_MM * px_per_mm, WIDTH_STEP_PX)
    best = _misfits(lowest, widths, _places(rows, edge_row, px_per_mm))
    gain = 1 - best[0] / np.maximum(flat[0], 1e-6)
    stands = best[3] <= PAPER - LEAST_STEP
    there = (gain >= LEAST_GAIN) & stands
    return Rims(best[1] - edge_row, np.where(there, best[2], 0.0))


def _places(rows: int, edge_row: float, px_per_mm: float) -> Doubles:
    reach = 0.7 * px_per_mm
    return np.arange(
        max(1.0, edge_row - reach), min(rows - 2.0, edge_row + reach), 0.25
    )


def _misfits(
    lowest: Doubles, widths: Doubles, places: Doubles
) -> tuple[Doubles, Doubles, Doubles, Doubles]:
    """The least misfit of each piece, with its place, width and level of paint.

    Each try has two unknowns, the levels of table and paint, so that the normal
    equations of all tries and pieces are solved at once.
    """
    rows = lowest.shape[0]
    tries = np.array(
        [(soft, at, wide) for soft in SOFT_PX for at in places for wide in widths]
    )
    table = 1 - np.array([_step(rows, at, soft) for soft, at, _ in tries])
    paint = np.array([_step(rows, at + wide, soft) for soft, at, wide in tries])
    paper = PAPER * (1 - table - paint)
    by_table = table @ lowest - _dots(table, paper)
    by_paint = paint @ lowest - _dots(paint, paper)
    left = (lowest**2).sum(axis=0) - 2 * (paper @ lowest) + _dots(paper, paper)
    tt, tp, pp = _dots(table, table), _dots(table, paint), _dots(paint, paint)
    whole = tt * pp - tp**2
    alone = whole < SINGULAR  # no paint is in sight: only the table is fitted
    level = np.where(
        alone, 0.0, (tt * by_paint - tp * by_table) / np.where(alone, 1.0, whole)
    )
    ground = (by_table - tp * level) / np.maximum(tt, SINGULAR)
    off = np.maximum(left - ground * by_table - level * by_paint, 0.0)
    best = off.argmin(axis=0)
    here = np.arange(lowest.shape[1])
    return off[best, here], tries[best, 1], tries[best, 2], level[best, here]


def _dots(one: Doubles, other: Doubles) -> Doubles:
    """Row by row, as a column."""
    return np.asarray(np.einsum("nr,nr->n", one, other)[:, None])


@lru_cache(maxsize=4096)
def _step(rows: int, at: float, soft: float) -> Doubles:
    """A soft step from 0 to 1; `at` counts from the first row's outer edge."""
    middles = (np.arange(rows) + 0.5 - at) / (soft * math.sqrt(2))
    return np.array([0.5 * (1 + math.erf(value)) for value in middles])
