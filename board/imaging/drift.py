"""Fine alignment of two laid pictures: paper cockles, lenses bend."""

import cv2
import numpy as np

from board.imaging import patches
from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Points
from board.imaging.working import Mask, evened, grey

NODES = 18
HALF, REACH, MOST = 12, 7, 700
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
    one, two = (
        evened(cv2.GaussianBlur(grey(p), (0, 0), 0.9), 12.0) for p in (before, after)
    )
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


def _smooth(at: Points, moved: Points, shape: tuple[int, int]) -> Floats:
    """Average movements round each node of a grid, trusting those that agree."""
    rows, columns = shape
    step = max(rows, columns) / NODES
    ny, nx = max(2, round(rows / step)), max(2, round(columns / step))
    gy, gx = (np.arange(ny) + 0.5) * rows / ny, (np.arange(nx) + 0.5) * columns / nx
    nodes = np.stack(np.meshgrid(gx, gy), -1).reshape(-1, 2)
    apart = ((nodes[:, None] - at[None]) ** 2).sum(axis=2)
    near = np.exp(-apart / (2 * (1.1 * step) ** 2)) + 1e-6
    middle = np.median(moved, axis=0)
    value = np.tile(middle, (len(nodes), 1))
    for reach in (4.0, 2.0, 1.0, 0.7, 0.7):
        off = ((moved[None] - value[:, None]) ** 2).sum(axis=2)
        trust = near / (1 + off / reach**2) ** 2
        total = trust.sum(axis=1, keepdims=True)
        value = (trust @ moved + 0.5 * middle) / (total + 0.5)
    return value.reshape(ny, nx, 2).astype(np.float32)


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
