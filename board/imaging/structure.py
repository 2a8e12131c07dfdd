"""Where lines and edges run, whatever drew them: pencil, paint or a photograph.

A pencil line and the border of a wash have nothing in common but their direction, so
each pixel holds how much edge there is and which way it runs, without a sign.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Matrix
from board.imaging.working import Mask, enlarging, shrunk

DRAWN = 512
COARSE = 128
FRAME = 256
SCALES = tuple(float(s) for s in 0.6 * 1.1 ** np.arange(13))
TILTS = (-8, -4, 0, 4, 8)
EDGE = 0.04
FINELY = (1.4, 24.0)  # width of an edge, reach of evening, pixels of DRAWN


@dataclass(frozen=True)
class Guess:
    """One way the newer may lie on the older, and how well the coarse looks agree."""

    matrix: Matrix
    score: float


def edges(picture: Bytes, sigma: float, reach: float) -> Floats:
    """Give edge strength, evened, and its direction doubled.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3)
    sigma : width of the edge to look for, pixels
    reach : how far around strength is evened, pixels

    Returns
    -------
    float32 array (rows, columns, 3): strength, strength x cos 2t, strength x sin 2t.
    """
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB).astype(np.float32)
    lab = cv2.GaussianBlur(lab, (0, 0), sigma)
    gx, gy = cv2.Sobel(lab, -1, 1, 0) / 8, cv2.Sobel(lab, -1, 0, 1) / 8
    along, across = (gx * gx - gy * gy).sum(axis=2), (2 * gx * gy).sum(axis=2)
    power = np.sqrt(np.sqrt(along * along + across * across))
    size = cv2.GaussianBlur(power, (0, 0), reach)
    typical = float(np.mean(power)) + 0.25
    level = power / (size + typical)
    level = level / (1 + 0.5 * level)
    unit = level / np.maximum(power * power, 1e-6)
    return np.dstack([level, along * unit, across * unit]).astype(np.float32)


def trimmed(mask: Mask, share: float = EDGE) -> Mask:
    """Leave out the outer share of a mask: paper edges and trim marks match anything."""
    high, wide = mask.shape[:2]
    m = max(1, round(share * max(high, wide)))
    out = np.zeros_like(mask)
    out[m : high - m, m : wide - m] = mask[m : high - m, m : wide - m]
    return out


def guesses(newer: Bytes, older: Bytes, most: int = 5) -> list[Guess]:
    """Search turns, tilts and scales for ways the newer's edges lie on the older's.

    Parameters
    ----------
    newer, older : uint8 arrays of shape (rows, columns, 3)

    Returns
    -------
    Up to `most` distinct guesses, best first; matrices newer -> older pixels.
    """
    field = _Field(older)
    small, back = shrunk(newer, DRAWN)
    drawn = edges(small, *FINELY)
    k = COARSE / max(small.shape[:2])

    def at_scale(scale: float) -> list[Guess]:
        size = (
            max(8, round(small.shape[1] * k * scale)),
            max(8, round(small.shape[0] * k * scale)),
        )
        into = enlarging(size[0] / small.shape[1], size[1] / small.shape[0])
        into = into @ np.linalg.inv(back)
        look = _complex(drawn, size)
        return [
            Guess(field.back @ m @ into, s)
            for turn in (0, 90, 180, 270)
            for m, s in field.places(look, turn)
        ]

    with ThreadPoolExecutor(2) as pool:
        tried = [guess for some in pool.map(at_scale, SCALES) for guess in some]
    return _distinct(sorted(tried, key=lambda g: -g.score), newer, older, most)


def _complex(drawn: Floats, size: tuple[int, int]) -> Floats:
    """Give the two direction channels and where they count, shrunk and trimmed.

    Edges are drawn first and shrunk then: what is too fine for the small size still
    says which way it ran, and how much of it there was.
    """
    look = cv2.resize(drawn, size, interpolation=cv2.INTER_AREA)
    keep = (trimmed(np.full(look.shape[:2], 255, np.uint8)) > 0).astype(np.float32)
    return np.dstack([look[..., 1] * keep, look[..., 2] * keep, keep])


class _Field:
    """The older picture's edges, ready for many comparisons."""

    def __init__(self, older: Bytes) -> None:
        small, self.back = shrunk(older, COARSE)
        drawn = edges(shrunk(older, DRAWN)[0], *FINELY)
        full = _complex(drawn, (small.shape[1], small.shape[0]))
        frame = np.zeros((FRAME, FRAME, 3), np.float32)
        frame[: small.shape[0], : small.shape[1]] = full
        self.look = cv2.dft(frame[..., :2].copy(), flags=cv2.DFT_COMPLEX_OUTPUT)
        self.energy = cv2.dft((frame[..., :2] ** 2).sum(axis=2))
        self.mask = cv2.dft(frame[..., 2].copy())
        self.area = float(frame[..., 2].sum())

    def places(self, look: Floats, turn: int) -> list[tuple[Matrix, float]]:
        """Turn a look, tilt it a little each way, and find where each tilt fits."""
        _, straight = self._turned(look, turn)
        worth = self._worth(straight[..., :2], straight[..., 2].copy())
        return [
            found
            for tilt in TILTS
            for found in self._placed(*self._turned(look, turn + tilt), worth)
        ]

    def _turned(self, look: Floats, angle: float) -> tuple[Matrix, Floats]:
        """Turn a look into the middle of the frame, its directions with it."""
        high, wide = look.shape[:2]
        a = np.radians(angle)
        cos, sin = np.cos(a), np.sin(a)
        middle = np.array([(wide - 1) / 2, (high - 1) / 2])
        spin = np.array([[cos, -sin], [sin, cos]])
        at = np.array([FRAME / 2, FRAME / 2]) - spin @ middle
        turn = np.column_stack([spin, at])
        frame = cv2.warpAffine(look, turn, (FRAME, FRAME), flags=cv2.INTER_LINEAR)
        c2, s2 = np.cos(2 * a), np.sin(2 * a)
        mix = np.array([[c2, -s2, 0], [s2, c2, 0], [0, 0, 1]], np.float32)
        return np.vstack([turn, [0, 0, 1]]), np.asarray(cv2.transform(frame, mix))

    def _placed(
        self, turn: Matrix, frame: Floats, worth: Floats
    ) -> list[tuple[Matrix, float]]:
        """Find the two shifts at which a turned look fits best."""
        z = np.ascontiguousarray(frame[..., :2])
        cross = cv2.mulSpectrums(
            self.look, cv2.dft(z, flags=cv2.DFT_COMPLEX_OUTPUT), 0, conjB=True
        )
        hit = cv2.dft(cross, flags=cv2.DFT_INVERSE | cv2.DFT_SCALE)[..., 0]
        score = hit / worth
        out = []
        for _ in range(2):
            _, best, _, (px, py) = cv2.minMaxLoc(score)
            move = turn.copy()
            move[0, 2] += _signed(px)
            move[1, 2] += _signed(py)
            out.append((move, float(best)))
            cv2.circle(score, (px, py), 6, -1.0, -1)
        return out

    def _worth(self, z: Floats, mask: Floats) -> Floats:
        """Give the root of both energies where the two overlap, by shift."""
        seen = cv2.dft(mask)
        power = cv2.dft((z * z).sum(axis=2))
        mine = _inverse(cv2.mulSpectrums(self.energy, seen, 0, conjB=True))
        other = _inverse(cv2.mulSpectrums(self.mask, power, 0, conjB=True))
        both = _inverse(cv2.mulSpectrums(self.mask, seen, 0, conjB=True))
        # Two empty stretches agree on anything: much of both has to be explained.
        least = 0.5 * max(float(mine.max()), 1e-3), 0.4 * max(float(other.max()), 1e-3)
        worth = np.sqrt(np.maximum(mine, least[0]) * np.maximum(other, least[1]))
        share = both / max(min(self.area, float(mask.sum())), 1.0)
        # A small overlap agrees by chance: it must earn its score.
        worth /= np.clip(share, 0.05, 1) ** 0.5
        worth[share < 0.35] = np.inf
        return np.asarray(worth, dtype=np.float32)


def _inverse(spectrum: Floats) -> Floats:
    return np.asarray(
        cv2.dft(spectrum, flags=cv2.DFT_INVERSE | cv2.DFT_SCALE), dtype=np.float32
    )


def _signed(shift: int) -> int:
    return shift - FRAME if shift > FRAME // 2 else shift


def _distinct(
    ranked: list[Guess], newer: Bytes, older: Bytes, most: int
) -> list[Guess]:
    """Keep the best of guesses that put the newer's corners in much the same place."""
    high, wide = newer.shape[:2]
    corners = np.array([[0, 0, 1], [wide, 0, 1], [wide, high, 1], [0, high, 1]]).T
    near = 0.07 * max(older.shape[:2])
    kept: list[Guess] = []
    spots: list[Floats] = []
    for guess in ranked[:400]:
        spot = (guess.matrix @ corners)[:2]
        if all(np.abs(spot - other).max() > near for other in spots):
            kept.append(guess)
            spots.append(spot)
        if len(kept) == most:
            break
    return kept
