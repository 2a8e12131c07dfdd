"""Fine alignment of two laid pictures: paper cockles, lenses bend."""

from functools import partial

import cv2
import numpy as np

from board.imaging import patches
from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Points
from board.imaging.working import Mask, at_once, evened, grey

NODES = 24
HALF, REACH, MOST = 12, 8, 700
ALIKE = 0.75


def drift(before: Bytes, after: Bytes, mask: Mask) -> Floats:
    """Measure where each pixel of `before` lies in `after`, smoothly.

    Parameters
    ----------
    before, after : uint8 RGB arrays of one shape, laid on one another
    mask : uint8 array (rows, columns), 255 where both are known

    Returns
    -------
    float32 array (rows, columns, 2), pixels to add to x and y; zeros where nothing
    tells. An object that moved does not bend it.
    """
    rows, columns = before.shape[:2]
    one, two = at_once(_look, before, after)
    at = patches.textured(one, mask, half=HALF, most=MOST, least=0.003)
    still = np.zeros((rows, columns, 2), np.float32)
    if len(at) < 30:
        return still
    slides = patches.slid(one, two, at, half=HALF, reach=REACH)
    good = slides.alike > ALIKE
    if good.sum() < 20:
        return still
    field = _smooth(slides.at[good], (slides.found - slides.at)[good], (rows, columns))
    return np.asarray(cv2.resize(field, (columns, rows), interpolation=cv2.INTER_CUBIC))


def _look(picture: Bytes) -> Floats:
    return evened(cv2.GaussianBlur(grey(picture), (0, 0), 0.9), 12.0)


def _smooth(at: Points, moved: Points, shape: tuple[int, int]) -> Floats:
    """Fit movements from coarse to fine, what is left over at each round."""
    rows, columns = shape
    step = max(rows, columns) / NODES
    ny, nx = max(2, round(rows / step)), max(2, round(columns / step))
    gy, gx = (np.arange(ny) + 0.5) * rows / ny, (np.arange(nx) + 0.5) * columns / nx
    nodes = np.stack(np.meshgrid(gx, gy), -1).reshape(-1, 2)
    u, v = (at[:, 0] / columns * nx - 0.5, at[:, 1] / rows * ny - 0.5)
    here = (u.astype(np.float32), v.astype(np.float32))
    total = np.zeros((ny, nx, 2), np.float32)
    halves = np.array_split(nodes, 2)
    for width, reach in ((4.0, 4.0), (2.0, 2.5), (1.0, 1.2), (0.8, 0.8)):
        seen = cv2.remap(
            total, *here, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        left = moved - seen.reshape(-1, 2)
        fit = partial(_slants, at=at, moved=left, step=step * width, reach=reach)
        slants = np.concatenate(at_once(fit, *halves))
        total += slants.reshape(ny, nx, 2).astype(np.float32)
    return total


def _slants(
    nodes: Points, *, at: Points, moved: Points, step: float, reach: float
) -> Points:
    """Fit a slant of movements round each node, trusting those that agree.

    Parameters
    ----------
    nodes, at : float64 arrays (nodes, 2) and (patches, 2), pixels
    moved : float64 array (patches, 2), pixels
    step : how far a node listens, pixels
    reach : pixels from the fit at which a patch loses most of its say
    """
    away = ((at[None] - nodes[:, None]) / step).astype(np.float32)
    terms = np.concatenate([np.ones_like(away[..., :1]), away], axis=2)
    moved = moved.astype(np.float32)
    near = np.exp((away[..., 0] ** 2 + away[..., 1] ** 2) / -2)
    near[near < 1e-4] = 0
    value = np.zeros((len(away), 3, 2), np.float32)
    lean = np.diag([0.4, 1.2, 1.2]).astype(np.float32)
    for _ in range(3):
        left = moved[None] - terms @ value
        off = left[..., 0] ** 2 + left[..., 1] ** 2
        trust = near / np.square(1 + off / np.float32(reach**2))
        weighted = (terms * trust[..., None]).transpose(0, 2, 1)
        value = np.linalg.solve(weighted @ terms + lean, weighted @ moved)
    return np.asarray(value[:, 0])


def undrifted(after: Bytes, field: Floats) -> Bytes:
    """Bring `after` onto `before` along a drift field."""
    rows, columns = after.shape[:2]
    x, y = np.meshgrid(
        np.arange(columns, dtype=np.float32), np.arange(rows, dtype=np.float32)
    )
    return np.asarray(
        cv2.remap(
            after,
            x + field[..., 0],
            y + field[..., 1],
            cv2.INTER_CUBIC,
            borderMode=cv2.BORDER_REPLICATE,
        )
    )
