"""Even out the light, the paper and the camera between two laid pictures."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import LINEAR_OF_BYTE, Bytes, Floats
from board.imaging.working import Mask, at_once

Numbers = npt.NDArray[np.float64]

DARK = np.float32(0.004)
SAMPLES = 240
MIX_PRIOR = 60.0
FAINT = 0.04
FIELD_PRIOR = (0.0, 0.3, 0.3, 1.0, 1.0, 1.0, 3.0, 3.0, 3.0, 3.0)
_LOG_OF_BYTE = np.log(LINEAR_OF_BYTE + DARK)


@dataclass(frozen=True)
class Light:
    """How to see `after` in the light of `before`: log light = field + mix @ log.

    What it adds to the log is what each light is multiplied by, so that black stays so.
    """

    field: Numbers
    mix: Numbers

    def seen(self, picture: Bytes) -> Floats:
        """Give the picture as linear light 0..1 under the other one's light."""
        rows, columns = picture.shape[:2]
        small = _powers(min(rows, 60), min(columns, 120)) @ self.field
        gain = cv2.resize(
            small.astype(np.float32), (columns, rows), interpolation=cv2.INTER_CUBIC
        )
        log = cv2.LUT(picture, _LOG_OF_BYTE)
        more = cv2.transform(log, (self.mix - np.eye(3)).T.astype(np.float32))
        more += gain
        cv2.exp(more, dst=more)
        more *= cv2.LUT(picture, LINEAR_OF_BYTE)
        return np.asarray(more, dtype=np.float32)


def light_between(before: Bytes, after: Bytes, mask: Mask) -> Light:
    """Fit a smooth light and a slight mixing of channels that takes after to before.

    Every colour has the same say, however much of the picture it covers, so that one
    repainted sky does not pass for a change of light; what does not follow the fit
    loses its say.

    Parameters
    ----------
    before, after : uint8 RGB arrays of one shape, finely aligned
    mask : uint8 array (rows, columns), 255 where both are known
    """
    rows, columns = before.shape[:2]
    k = min(1.0, SAMPLES / max(rows, columns))
    size = (max(2, round(columns * k)), max(2, round(rows * k)))
    one, two = (
        cv2.resize(p, size, interpolation=cv2.INTER_AREA) for p in (before, after)
    )
    seen = cv2.resize(mask, size, interpolation=cv2.INTER_AREA) == 255
    inside = (np.minimum(one, two) > 6).all(axis=2) & (np.maximum(one, two) < 250).all(
        axis=2
    )
    kept = seen & inside
    if kept.sum() < 60:
        kept = seen
    if kept.sum() < 60:
        return Light(np.zeros((10, 3)), np.eye(3))
    y = _LOG_OF_BYTE[one[kept]].astype(np.float64)
    x = _LOG_OF_BYTE[two[kept]].astype(np.float64)
    field = _powers(size[1], size[0])[kept]
    weights = _balanced(two[kept]) * (1 - _edgy(one, two)[kept])
    return _fitted(y, x, field, weights)


def _fitted(y: Numbers, x: Numbers, field: Numbers, weights: Numbers) -> Light:
    middle = np.average(x, axis=0, weights=weights)
    terms = np.hstack([field, x - middle])
    target = y - x
    scale = weights / weights.mean()
    prior = np.diag([*FIELD_PRIOR, MIX_PRIOR, MIX_PRIOR, MIX_PRIOR])
    prior = prior * len(y) / 4000 + 1e-9 * np.eye(13)
    # A channel with hardly any light says little about it, and that wrongly.
    lit = np.exp(np.minimum(x, y))
    says = scale[:, None] * (lit / (lit + FAINT)) ** 2
    found = np.zeros((13, 3))
    found[0] = np.median(target, axis=0)

    def solved(channel: tuple[Numbers, Numbers]) -> Numbers:
        aim, trust = channel
        weighted = terms * trust[:, None]
        normal = terms.T @ weighted + prior
        return np.asarray(np.linalg.solve(normal, weighted.T @ aim), np.float64)

    for width in (0.6, 0.4, 0.25, 0.15, 0.1, 0.08, 0.08):
        off = target - terms @ found
        shared = np.sqrt((off**2).mean(axis=1, keepdims=True))
        trust = says / (1 + (np.maximum(np.abs(off), 0.5 * shared) / width) ** 2) ** 2
        channels = zip(target.T, trust.T, strict=True)
        found = np.column_stack(at_once(solved, *channels))
    mix = np.eye(3) + found[10:]
    fixed = found[:10].copy()
    fixed[0] -= middle @ found[10:]
    return Light(fixed, mix)


def _powers(rows: int, columns: int) -> Numbers:
    """Give the ten terms of a cubic over -1..1, shape (rows, columns, 10)."""
    v, u = np.meshgrid(
        (np.arange(rows) + 0.5) / rows * 2 - 1,
        (np.arange(columns) + 0.5) / columns * 2 - 1,
        indexing="ij",
    )
    one = np.ones_like(u)
    return np.stack(
        [one, u, v, u * u, u * v, v * v, u**3, u * u * v, u * v * v, v**3], axis=-1
    )


def _balanced(rgb: Bytes) -> Numbers:
    """Weigh samples so that every colour, in bins of 32, has nearly the same say."""
    bins = (rgb >> 5).astype(np.int64) @ np.array([64, 8, 1])
    count = np.bincount(bins, minlength=512)[bins]
    return np.asarray(1.0 / (count + 0.002 * len(rgb)) ** 0.7)


def _edgy(one: Bytes, two: Bytes) -> Numbers:
    """Give 0..1, how much of an edge each sample sits on: edges tell little of light."""
    worst = np.zeros(one.shape[:2])
    for picture in (one, two):
        light = picture.astype(np.float32).mean(axis=2)
        step = np.hypot(cv2.Sobel(light, -1, 1, 0), cv2.Sobel(light, -1, 0, 1)) / 8
        worst = np.maximum(worst, step)
    return np.asarray(np.minimum(worst / 12, 1) * 0.95)
