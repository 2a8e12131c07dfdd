"""How many pixels an inch of print gets, and where a laid shot leaves the sheet bare.

A matrix takes (x, y, 1) in picture pixels, counted from the outer corner, to the sheet
whose trim runs from (0, 0) to (1, 1); lengths are millimetres.
"""

import numpy as np
import numpy.typing as npt

Doubles = npt.NDArray[np.float64]
MM_AN_INCH = 25.4
STEP_MM = 0.05


def effective_ppi(
    matrix: Doubles,
    size_mm: tuple[float, float],
    *,
    bleed_mm: float,
    picture: tuple[int, int] | None = None,
    grid: int = 33,
) -> tuple[float, tuple[float, float]]:
    """Find the coarsest place of a laid picture.

    Parameters
    ----------
    matrix : float array of shape (3, 3)
    size_mm : width and height of the trimmed sheet
    picture : (width, height) in pixels; places that it does not show are left out
    grid : places along each side of the bled sheet that are measured

    Returns
    -------
    The least pixels an inch, along its most stretched direction, and where on the
    sheet; 0 when the picture shows nothing of the sheet.
    """
    over = bleed_mm / np.array(size_mm)
    xs = np.linspace(-over[0], 1 + over[0], grid)
    ys = np.linspace(-over[1], 1 + over[1], grid)
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    back = np.asarray(np.linalg.inv(matrix), np.float64)
    pixels = through(back, places)
    if picture is not None:
        shown = _within(pixels, picture, slack=1.0)
        places, pixels = places[shown], pixels[shown]
    if not len(places):
        return 0.0, (0.5, 0.5)
    ppi = MM_AN_INCH / _longest_step_mm(matrix, pixels, np.array(size_mm))
    worst = int(ppi.argmin())
    return float(ppi[worst]), (float(places[worst, 0]), float(places[worst, 1]))


def through(matrix: Doubles, points: Doubles) -> Doubles:
    """Carry points, float array (n, 2), through a matrix."""
    held = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(held[:, :2] / held[:, 2:])


def _longest_step_mm(matrix: Doubles, pixels: Doubles, mm: Doubles) -> Doubles:
    """How far the most stretched pixel step reaches on paper, one value a place."""
    held = np.column_stack([pixels, np.ones(len(pixels))]) @ matrix.T
    depth = held[:, 2]
    xy = held[:, :2] / depth[:, None]
    slopes = matrix[None, :2, :2] - xy[:, :, None] * matrix[None, 2:, :2]
    slopes = slopes / depth[:, None, None] * mm[None, :, None]
    return np.asarray(np.linalg.svd(slopes, compute_uv=False)[:, 0])


def _within(
    pixels: Doubles, picture: tuple[int, int], *, slack: float
) -> npt.NDArray[np.bool_]:
    low = (pixels >= -slack).all(axis=1)
    return np.asarray(low & (pixels <= np.array(picture) + slack).all(axis=1))


def uncovered_mm(
    matrix: Doubles,
    picture: tuple[int, int],
    size_mm: tuple[float, float],
    *,
    bleed_mm: float,
    reach_mm: float = 8.0,
) -> dict[str, float]:
    """Measure what a laid picture lacks along each edge of the bled sheet.

    Returns
    -------
    Millimetres inwards from the bleed edge at the barest place of the left, right, top
    and bottom edge, at most `reach_mm`; corners are measured with both edges.
    """
    back = np.asarray(np.linalg.inv(matrix), np.float64)
    deep = np.arange(0, reach_mm + STEP_MM, STEP_MM)
    lacking: dict[str, float] = {}
    for edge in ("left", "right", "top", "bottom"):
        places = _inwards(edge, deep, np.array(size_mm), bleed_mm)
        shown = _within(through(back, places), picture, slack=0.25)
        first = shown.reshape(-1, len(deep))
        bare = np.where(first.any(axis=1), first.argmax(axis=1), len(deep) - 1)
        lacking[edge] = float(deep[int(bare.max())])
    return lacking


def _inwards(edge: str, deep: Doubles, mm: Doubles, bleed: float) -> Doubles:
    """Places on the sheet: for 64 spots along an edge, one for each depth."""
    at = 0 if edge in {"left", "right"} else 1
    # Within the bleed of the neighbouring edges a spot belongs to them.
    along = np.linspace(0.0, 1.0, 64)
    into = (deep - bleed) / mm[at]
    into = 1 - into if edge in {"right", "bottom"} else into
    spot, depth = np.meshgrid(along, into, indexing="ij")
    pair = (depth, spot) if at == 0 else (spot, depth)
    return np.stack(pair, axis=-1).reshape(-1, 2)
