"""Lay one picture on another by what all patches say together, not each by its peak.

A pencil line and the border of a wash agree weakly and in many places: the best place
of a single patch is often chance. So every patch keeps its whole map of how well it
would fit where, and the matrix climbs to where the maps together are highest.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging import patches
from board.imaging.agreement import Look, seen_corners
from board.imaging.colour import Bytes, Doubles, Floats
from board.imaging.sheet import Matrix, Points, apply, fit, inverse
from board.imaging.working import Mask, at_once, seen_from, shrunk

LONGEST, HALF, REACH, MOST = 1000, 34, 22, 420
FEWEST: Final = 14
FREELY: Final = (9.0, 7.0, 5.0)  # widths of the look, pixels of the frame
CLOSELY: Final = (5.0, 4.0, 4.0)
ROUNDS: Final = 3
CELLS: Final = 6
# A scan is a similarity, a photo a projection: what share of the latter's agreement the
# former has to hold. Of 34 scans it held 0.990 or more but once, of 24 photos with very
# little perspective less than 0.985 wherever it was off by more than 0.26 %.
HOLDS: Final = {"similarity": 0.988, "projective": 0.0}
LEAST_POWER: Final = 0.5


@dataclass(frozen=True)
class Together:
    """A matrix newer -> older and its likely largest error in older pixels."""

    matrix: Matrix
    error: float


@dataclass(frozen=True)
class _Maps:
    """Places (n, 2) in the frame, and how well each fits dx, dy away: (n, d, d)."""

    at: Points
    fits: Floats
    reach: int


def together(newer: Bytes, older: Bytes, matrix: Matrix, look: Look) -> Together | None:
    """Climb from a roughly right matrix to where all patches agree best.

    Parameters
    ----------
    newer, older : uint8 RGB arrays
    matrix : 3 x 3, newer pixels to older pixels, off by less than 22 pixels of 1,000
    look : how edges are drawn; its second and third channels are compared

    Returns
    -------
    The better matrix, or None where too few patches have anything to say.

    References
    ----------
    Regularised mean shift over local response maps: Saragih, Lucey, Cohn, IJCV 91(2),
    2011, here with a homography for its shape.
    """
    frame, back = shrunk(older, LONGEST)
    into = inverse(back) @ matrix
    maps = _maps(newer, frame, into, look)
    if maps is None:
        return None
    climb = _Climb(maps, into)
    start = climb.up(np.linalg.inv(back) @ matrix, "projective", FREELY)
    ends = {name: climb.up(start, name, CLOSELY) for name in HOLDS}
    held = {name: climb.held(end) for name, end in ends.items()}
    freedom = next(n for n in HOLDS if held[n] >= HOLDS[n] * max(held.values()))
    found, weights = climb.places(ends[freedom], CLOSELY[-1])
    better = back @ ends[freedom]
    slides = patches.Slides(maps.at, found, weights)
    seen = seen_corners(newer, frame, into)
    error = patches.wobble(slides, weights, freedom, seen)
    scale = max(older.shape[:2]) / max(frame.shape[:2])
    return Together(better / better[2, 2], error * scale)


class _Climb:
    """Patches' maps, ready to be climbed by matrices from newer to frame pixels."""

    def __init__(self, maps: _Maps, into: Matrix) -> None:
        self.maps, self.into, self.back = maps, into, inverse(into)
        self.say = _says(maps.fits)
        self.even = _evenly(maps.at)
        self.side = np.arange(-maps.reach, maps.reach + 1, dtype=np.float32)

    def up(self, matrix: Matrix, freedom: str, widths: tuple[float, ...]) -> Matrix:
        """Climb with a look that narrows, keeping to one freedom."""
        for width in widths:
            for _ in range(ROUNDS):
                found, weights = self.places(matrix, width)
                matrix = fit(found, self.maps.at, weights, freedom)
        return matrix

    def places(self, matrix: Matrix, width: float) -> tuple[Points, Doubles]:
        """Give where each patch is found, newer pixels, and its say."""
        near, total = self._near(matrix, width)
        safe = np.maximum(total, 1e-9)
        x = (near.sum(axis=1) * self.side).sum(axis=1) / safe
        y = (near.sum(axis=2) * self.side).sum(axis=1) / safe
        found = apply(self.back, self.maps.at + np.column_stack([x, y]))
        top = float(np.quantile(total, 0.9)) + 1e-9
        return found, np.minimum(total / top, 1.0) * self.even

    def held(self, matrix: Matrix) -> float:
        """Say how much agreement a matrix holds, no patch counting too much."""
        total = self._near(matrix, 2.0)[1]
        return float((self.even * np.minimum(total, np.quantile(total, 0.95))).sum())

    def _near(self, matrix: Matrix, width: float) -> tuple[Floats, Doubles]:
        goal = apply(self.into, apply(inverse(matrix), self.maps.at)) - self.maps.at
        x, y = (
            np.exp(-((self.side[None] - goal[:, [k]]) ** 2) / (2 * width * width))
            for k in (0, 1)
        )
        near = self.say * (y[:, :, None] * x[:, None, :]).astype(np.float32)
        return near, near.sum(axis=(1, 2), dtype=np.float64)


def _maps(newer: Bytes, frame: Bytes, into: Matrix, look: Look) -> _Maps | None:
    size = (frame.shape[1], frame.shape[0])
    laid, mask = seen_from(newer, into, size)
    mask = _inside(mask, newer, into, look.trim)
    mine, theirs = (
        drawn[..., 1:] * (mask > 0)[..., None].astype(np.float32)
        for drawn in at_once(look.draw, frame, laid)
    )
    at = patches.textured(mine, mask, half=HALF // 2, most=MOST, least=look.least / 4)
    if len(at) < FEWEST:
        return None
    return _Maps(at, _fits(mine, theirs, at, half=HALF, reach=REACH), REACH)


def _inside(mask: Mask, newer: Bytes, into: Matrix, trim: float) -> Mask:
    """Leave out the very edges of both: paper ends there, whatever is drawn."""
    high, wide = mask.shape
    solid = np.full(newer.shape[:2], 0, np.uint8)
    m = max(2, round(trim * max(newer.shape[:2])))
    solid[m:-m, m:-m] = 255
    there = cv2.warpPerspective(solid, into, (wide, high), flags=cv2.INTER_NEAREST)
    n = max(2, round(trim * max(mask.shape)))
    out = np.zeros_like(mask)
    out[n : high - n, n : wide - n] = 255
    return np.asarray(out & mask & there, np.uint8)


def _fits(older: Floats, newer: Floats, at: Points, *, half: int, reach: int) -> Floats:
    """Correlate each patch of the older with the newer around it, by shift."""
    pad = half + reach
    one = cv2.copyMakeBorder(older, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=0)
    two = cv2.copyMakeBorder(newer, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=0)
    window = (2 * half + 1, 2 * half + 1)
    mine, theirs = (
        cv2.boxFilter((p * p).sum(axis=2), -1, window, normalize=False)
        for p in (one, two)
    )
    where = at.astype(int) + pad
    own = mine[where[:, 1], where[:, 0]]
    usual, other = (
        float(np.median(own)),
        float(np.median(theirs[where[:, 1], where[:, 0]])),
    )
    side = 2 * reach + 1
    out = np.zeros((len(at), side, side), np.float32)

    def correlate(some: npt.NDArray[np.intp]) -> None:
        for i in some:
            x, y = where[i]
            patch = one[y - half : y + half + 1, x - half : x + half + 1]
            field = two[y - pad : y + pad + 1, x - pad : x + pad + 1]
            power = theirs[y - reach : y + reach + 1, x - reach : x + reach + 1]
            # Nearly empty paper agrees with anything: a patch has to hold something.
            worth = np.maximum(own[i], LEAST_POWER * usual) * np.maximum(
                power, LEAST_POWER * other
            )
            score = cv2.matchTemplate(field, patch, cv2.TM_CCORR)
            out[i] = score / np.sqrt(worth + 1e-6)

    at_once(correlate, *np.array_split(np.arange(len(at)), 2))
    return out


def _says(fits: Floats) -> Floats:
    """Turn correlations into what counts: how far each stands above its own map."""
    flat = fits.reshape(len(fits), -1)
    usual = np.median(flat, axis=1)
    above = np.clip(fits - usual[:, None, None], 0, None)
    spread = np.maximum(flat.std(axis=1), 0.01)[:, None, None]
    return np.asarray((above / spread) ** 2 * above, dtype=np.float32)


def _evenly(at: Points) -> Doubles:
    """Weigh patches so that every part of the sheet has nearly the same say."""
    low, high = at.min(axis=0), at.max(axis=0)
    cell = np.minimum((at - low) / np.maximum(high - low, 1e-9) * CELLS, CELLS - 0.01)
    number = cell[:, 0].astype(int) * CELLS + cell[:, 1].astype(int)
    count = np.bincount(number, minlength=CELLS * CELLS)[number]
    return np.asarray(1.0 / (count + 2.0) ** 0.5)
