"""What a picture is made of: its main colours, its tones, and how it is composed."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Doubles, Floats

CELL: Final = 2.0  # side of the Lab bins that stand for the pixels in them
ROUNDS: Final = 60
NEARLY: Final = 0.1  # Lab units a centre may still move while ways are tried
STILL: Final = 1e-3
PULLS: Final = (0.5, 0.25, 1.0)
SWAPS: Final = 8
DARK: Final = 100 / 3  # L* below and above which a tone counts as dark and as light
LIGHT: Final = 200 / 3
LAYOUT: Final = (4, 8)  # rows, columns
FLAT: Final = 0.75  # spread of L* and of detail below which there is no layout

Mask = npt.NDArray[np.generic]


@dataclass(frozen=True)
class Tones:
    """Shares of dark, middle and light, the mean L*, and how warm on the whole."""

    dark: float
    middle: float
    light: float
    lightness: float
    warmth: float


def palette(
    lab: Floats, k: int, mask: Mask | None = None
) -> tuple[Floats, npt.NDArray[np.float64]]:
    """Give the main colours of a picture and how much of it each one holds.

    The same picture always gives the same palette: nothing is drawn by lot.

    Parameters
    ----------
    lab : float array of shape (..., 3), CIELAB
    k : how many colours, 1 and up; fewer come back when there are fewer
    mask : array of the shape of `lab` without its last side, non-zero where it counts

    Returns
    -------
    float32 array (k, 3), Lab, the largest area first, and float64 array (k,), shares
    that add up to 1. Both are empty where nothing counts.

    References
    ----------
    k-means: Lloyd, IEEE Trans. Inf. Theory 28(2), 1982; first centres by the farthest
    point: Gonzalez, Theoretical Computer Science 38, 1985, weighed by area.
    """
    points, weights = _gathered(_counted(lab, mask))
    if not len(points):
        return np.empty((0, 3), np.float32), np.empty(0)
    tries = [_settled(points, weights, _firsts(points, weights, k, p)) for p in PULLS]
    best = min(tries, key=lambda found: found[2])
    centres, _, _ = _swapped(points, weights, best)
    centres, area, _ = _settled(points, weights, centres, STILL)
    order = np.lexsort((centres[:, 0], -area))
    return centres[order].astype(np.float32), area[order] / area.sum()


def tones(lab: Floats, mask: Mask | None = None) -> Tones:
    """Weigh dark against light and warm against cool.

    Parameters
    ----------
    lab, mask : as for `palette`

    Returns
    -------
    Shares 0..1 that add up to 1 (dark below L* 33.3, light above 66.7), the mean L*, and
    the mean warmth: 0 for greys, about +1 for a strong orange, -1.5 for a strong blue.

    References
    ----------
    Warmth: Ou, Luo, Woodcock, Wright, Color Research and Application 29(3), 2004,
    0.02 C^1.07 cos(h - 50 deg), without its constant -0.5 (from memory).
    """
    flat = _counted(lab, mask)
    if not len(flat):
        return Tones(0.0, 1.0, 0.0, 50.0, 0.0)
    light, a, b = flat.T.astype(np.float64)
    dark, bright = float((light < DARK).mean()), float((light > LIGHT).mean())
    hue = np.arctan2(b, a) - np.radians(50)
    warmth = 0.02 * np.hypot(a, b) ** 1.07 * np.cos(hue)
    return Tones(
        dark, 1 - dark - bright, bright, float(light.mean()), float(warmth.mean())
    )


def composition(lab: Floats, mask: Mask | None = None) -> Floats:
    """Say where a picture is light and where its detail lies, whatever its colours.

    Parameters
    ----------
    lab : float array of shape (rows, columns, 3), CIELAB
    mask : array (rows, columns), non-zero where it counts

    Returns
    -------
    float32 array (2, 4, 8): lightness, then detail, each with mean 0 and length 1; all
    zero for a flat one.
    """
    light = np.ascontiguousarray(lab[..., 0], dtype=np.float32)
    seen = np.ones(light.shape, np.float32)
    if mask is not None:
        seen = (np.asarray(mask) != 0).astype(np.float32)
    soft = cv2.GaussianBlur(light, (0, 0), max(light.shape) / 400 + 0.5)
    gx, gy = cv2.Sobel(soft, -1, 1, 0) / 8, cv2.Sobel(soft, -1, 0, 1) / 8
    detail = np.sqrt(cv2.magnitude(gx, gy))
    return np.stack([_layout(light, seen), _layout(detail, seen, FLAT / 10)])


def alike(one: Floats, two: Floats) -> float:
    """Give how alike two compositions are: 1 the same, 0 nothing in common, -1 reversed.

    Parameters
    ----------
    one, two : what `composition` gave

    Returns
    -------
    The mean correlation of lightness and of detail; 0 where one of them is flat.
    """
    said = [float((a * b).sum()) for a, b in zip(one, two, strict=True)]
    return float(np.mean(said))


def _counted(lab: Floats, mask: Mask | None) -> Floats:
    flat = np.asarray(lab, np.float32).reshape(-1, 3)
    if mask is None:
        return flat
    return np.asarray(flat[np.asarray(mask).reshape(-1) != 0])


def _gathered(flat: Floats) -> tuple[Doubles, Doubles]:
    """Gather pixels in bins of Lab: mean colours (n, 3) and counts (n,)."""
    if not len(flat):
        return np.empty((0, 3)), np.empty(0)
    bins = np.clip(np.floor(flat / CELL).astype(np.int64) + 128, 0, 255)
    number = bins @ np.array([65536, 256, 1])
    _, which, count = np.unique(number, return_inverse=True, return_counts=True)
    which = which.reshape(-1)
    sums = [np.bincount(which, flat[:, c].astype(np.float64)) for c in range(3)]
    return np.column_stack(sums) / count[:, None], count.astype(np.float64)


def _firsts(points: Doubles, weights: Doubles, k: int, pull: float) -> Doubles:
    """Choose centres one after another: much area, far from those chosen."""
    chosen = [int(weights.argmax())]
    far = ((points - points[chosen[0]]) ** 2).sum(axis=1)
    for _ in range(k - 1):
        if far.max() <= 0:
            break
        chosen.append(int((far * weights**pull).argmax()))
        far = np.minimum(far, ((points - points[chosen[-1]]) ** 2).sum(axis=1))
    return points[chosen]


def _settled(
    points: Doubles, weights: Doubles, centres: Doubles, still: float = NEARLY
) -> tuple[Doubles, Doubles, float]:
    """Move centres to the middle of what is nearest to them until they lie still."""
    area: Doubles = np.zeros(len(centres))
    off = 0.0
    for _ in range(ROUNDS):
        apart = _apart(points, centres)
        near = apart.argmin(axis=0)
        off = float((weights * apart.min(axis=0)).sum())
        area = np.bincount(near, weights, len(centres)).astype(np.float64)
        sums = [
            np.bincount(near, weights * points[:, c], minlength=len(centres))
            for c in range(3)
        ]
        middles = np.column_stack(sums) / np.maximum(area, 1e-9)[:, None]
        moved = np.where(area[:, None] > 0, middles, centres)
        if np.abs(moved - centres).max() < still:
            break
        centres = moved
    kept = area > 0
    return centres[kept], area[kept], off


def _apart(points: Doubles, centres: Doubles) -> Doubles:
    """Give squared distances (k, n); row by row, which is what numpy does fast."""
    columns = points.T.copy()
    out = np.empty((len(centres), len(points)))
    for row, centre in zip(out, centres, strict=True):
        row[:] = sum((c - at) ** 2 for c, at in zip(columns, centre, strict=True))
    return out


def _swapped(
    points: Doubles, weights: Doubles, best: tuple[Doubles, Doubles, float]
) -> tuple[Doubles, Doubles, float]:
    """Put one centre after another where most is left over, as long as that pays."""
    for _ in range(SWAPS):
        before = best[2]
        for j in range(len(best[0])):
            rest = best[0][np.arange(len(best[0])) != j]
            if not len(rest):
                continue
            far = _apart(points, rest).min(axis=0)
            pull = PULLS[j % len(PULLS)]
            new = points[[int((far * weights**pull).argmax())]]
            tried = _settled(points, weights, np.vstack([rest, new]))
            if tried[2] < best[2] * (1 - 1e-6):
                best = tried
                break
        if best[2] >= before * (1 - 1e-6):
            break
    return best


def _layout(field: Floats, seen: Floats, flat: float = FLAT) -> Floats:
    """Average a field over the cells of the layout; mean 0, length 1, or all zero."""
    size = LAYOUT[::-1]
    sums = cv2.resize(field * seen, size, interpolation=cv2.INTER_AREA)
    there = cv2.resize(seen, size, interpolation=cv2.INTER_AREA)
    known = there > 0
    means = sums / np.maximum(there, 1e-6)
    if not known.any() or float(means[known].std()) < flat:
        return np.zeros(LAYOUT, np.float32)
    off = np.where(known, means - means[known].mean(), 0)
    return np.asarray(off / np.linalg.norm(off), dtype=np.float32)
