"""Small pieces of the older picture, looked for where the newer should show them."""

from dataclasses import dataclass
from functools import partial

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats
from board.imaging.sheet import Matrix, Points, apply, fit, residuals
from board.imaging.working import Mask, at_once

PAYS = 0.88

Weights = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Slides:
    """Where each patch was (n, 2), where it was found (n, 2) and how alike, -1..1."""

    at: Points
    found: Points
    alike: Weights


@dataclass(frozen=True)
class Agreed:
    """A matrix found -> at, a weight a patch, and the freedom of the fit."""

    matrix: Matrix
    weights: Weights
    freedom: str


def textured(look: Floats, mask: Mask, *, half: int, most: int, least: float) -> Points:
    """Choose places with something to hold on to in both directions, evenly spread.

    Parameters
    ----------
    look : float32 array (rows, columns) or (rows, columns, channels), evened
    mask : uint8 array (rows, columns), 255 where both pictures have pixels
    half : half the patch, pixels
    most : about how many places
    least : smallest structure (smaller eigenvalue) worth holding on to

    Returns
    -------
    float64 array (n, 2) of whole x, y.
    """
    inner = _inner(mask, half + 2)
    left, top, wide, high = cv2.boundingRect(inner)
    if not wide:
        return np.empty((0, 2))
    strength = cv2.copyTo(_strength(look, half), inner)
    step = max(4.0, float(np.sqrt(wide * high / most)))
    chosen = []
    for y in np.arange(top, top + high, step):
        for x in np.arange(left, left + wide, step):
            cell = strength[int(y) : int(y + step) + 1, int(x) : int(x + step) + 1]
            _, peak, _, at = cv2.minMaxLoc(cell)
            if peak > least:
                chosen.append((int(x) + at[0], int(y) + at[1]))
    return np.array(chosen, np.float64).reshape(-1, 2)


def _strength(look: Floats, half: int) -> Floats:
    side = 2 * half + 1
    if look.ndim == 2:  # its slopes are twice ours
        return np.asarray(cv2.cornerMinEigenVal(look, side, ksize=3) / 4, np.float32)
    xx = xy = yy = np.float32(0)
    for layer in cv2.split(look):
        gx = cv2.Sobel(layer, cv2.CV_32F, 1, 0, scale=1 / 8)
        gy = cv2.Sobel(layer, cv2.CV_32F, 0, 1, scale=1 / 8)
        xx, xy, yy = xx + gx * gx, xy + gx * gy, yy + gy * gy
    xx, xy, yy = (cv2.boxFilter(m, -1, (side, side)) for m in (xx, xy, yy))
    mean, off = (xx + yy) / 2, (xx - yy) / 2
    return np.asarray(mean - np.sqrt(off * off + xy * xy), dtype=np.float32)


def _inner(mask: Mask, margin: int) -> Mask:
    """Shrink the mask from its own edge and from the frame's."""
    padded = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    side = 2 * margin + 1
    return np.asarray(
        cv2.erode(padded, np.ones((side, side), np.uint8))[1:-1, 1:-1], np.uint8
    )


def slid(older: Floats, newer: Floats, at: Points, *, half: int, reach: int) -> Slides:
    """Look for each patch of the older in the newer, up to `reach` pixels away.

    Parameters
    ----------
    older, newer : float32 arrays of one shape, the newer laid into the older's frame
    at : float64 array (n, 2) of whole x, y
    half, reach : pixels

    Returns
    -------
    The places found, to a fraction of a pixel, and their normalised correlation.
    """
    pad = half + reach
    wide = cv2.copyMakeBorder(newer, pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    look = partial(_slid, older, wide, half=half, reach=reach)
    first, second = at_once(look, *np.array_split(at, 2))
    found, alike = (
        np.concatenate([first[0], second[0]]),
        np.hstack([first[1], second[1]]),
    )
    return Slides(at, found, np.nan_to_num(alike))


def _slid(
    older: Floats, wide: Floats, at: Points, *, half: int, reach: int
) -> tuple[Points, Weights]:
    """Look for some patches in the newer picture, `wide` by half and reach all round."""
    rows, columns = older.shape[:2]
    pad = half + reach
    found = np.empty_like(at)
    alike = np.empty(len(at))
    for i, (x, y) in enumerate(at.astype(int)):
        x0, x1 = max(0, x - half), min(columns, x + half + 1)
        y0, y1 = max(0, y - half), min(rows, y + half + 1)
        patch = older[y0:y1, x0:x1]
        field = wide[
            y0 + pad - reach : y1 + pad + reach, x0 + pad - reach : x1 + pad + reach
        ]
        score = cv2.matchTemplate(field, patch, cv2.TM_CCOEFF_NORMED)
        _, alike[i], _, (px, py) = cv2.minMaxLoc(score)
        found[i] = (
            x - reach + _crest(score, px, py, 0),
            y - reach + _crest(score, px, py, 1),
        )
    return found, alike


def _crest(score: Floats, x: int, y: int, axis: int) -> float:
    """Give where a parabola through the peak and its two neighbours is highest."""
    k, n = (x, score.shape[1]) if axis == 0 else (y, score.shape[0])
    if not 0 < k < n - 1:
        return float(k)
    line = score[y, x - 1 : x + 2] if axis == 0 else score[y - 1 : y + 2, x]
    low, mid, high = (float(v) for v in line)
    bend = low - 2 * mid + high
    return k + (0.5 * (low - high) / bend if bend < -1e-9 else 0.0)


def agreed(
    slides: Slides, *, alike: float, within: float, freedom: str
) -> Agreed | None:
    """Fit one matrix found -> at to the patches that agree on it.

    Parameters
    ----------
    alike : least correlation of a patch that counts
    within : pixels from the fit at which a patch loses its say
    freedom : "projective", or "either": affine unless perspective clearly pays

    Returns
    -------
    The matrix and one weight a patch, 0 for those that do not agree; or None.
    """
    good = slides.alike > alike
    if good.sum() < 8:
        return None
    src, dst = slides.found[good], slides.at[good]
    fits = [
        again
        for name, start in _starts(src, dst, within)
        if freedom in ("either", name)
        and (again := _refitted(start, src, dst, within=within, freedom=name))
    ]
    if freedom == "either":
        best = _thriftiest(fits, src, dst)
    else:
        best = max(fits, key=lambda one: one.weights.sum(), default=None)
    if best is None:
        return None
    every = np.zeros(len(slides.at))
    every[good] = best.weights
    return Agreed(best.matrix, every, best.freedom)


def _thriftiest(fits: list[Agreed], src: Points, dst: Points) -> Agreed | None:
    """Choose among fits, stiffest first: a freer one must leave clearly less scatter.

    Neighbouring patches err together, so that a few hundred of them bend a free fit
    as readily as a few dozen would.
    """
    if not fits:
        return None
    offs = [residuals(one.matrix, src, dst) for one in fits]
    closest = min(
        float(np.median(off[one.weights > 0.05]))
        for one, off in zip(fits, offs, strict=True)
    )
    width = max(4.0 * closest, 0.5)
    held = np.min(offs, axis=0) < width
    best, scatter = fits[0], np.inf
    for one, off in zip(fits, offs, strict=True):
        left = float((np.minimum(off[held], width) ** 2).mean())
        if left < PAYS * scatter:
            best, scatter = one, left
    return best


def _starts(src: Points, dst: Points, within: float) -> list[tuple[str, Matrix]]:
    """Give first matrices by random sampling, stiffest first."""
    start, _ = cv2.estimateAffine2D(
        src, dst, method=cv2.RANSAC, ransacReprojThreshold=within, maxIters=3000
    )
    if start is None:
        return []
    affine = np.vstack([start, [0, 0, 1]]).astype(np.float64)
    out = [("similarity", affine), ("affine", affine), ("projective", affine)]
    if len(src) >= 12:
        free, _ = cv2.findHomography(
            src, dst, cv2.USAC_MAGSAC, within, maxIters=3000, confidence=0.999
        )
        if free is not None:
            out.append(("projective", np.asarray(free, np.float64)))
    return out


def _refitted(
    matrix: Matrix, src: Points, dst: Points, *, within: float, freedom: str
) -> Agreed | None:
    """Fit again and again, trusting less what lies further off."""
    weights = np.zeros(len(src))
    reach = 2.0 * within
    for _ in range(12):
        off = residuals(matrix, src, dst)
        weights = np.clip(1 - (off / reach) ** 2, 0, None) ** 2
        if (weights > 0.05).sum() < 8:
            return None
        matrix = fit(src, dst, weights, freedom)
        off = off[weights > 0]
        reach = max(min(reach, within, 5.0 * float(np.median(off))), 0.3)
    return Agreed(matrix, weights, freedom)


def wobble(slides: Slides, weights: Weights, freedom: str, corners: Points) -> float:
    """Give how far the fit moves, in pixels, when whole regions are drawn by lot.

    The patches are taken by cells of a 4 x 4 grid, since neighbours err together; of
    40 drawings the ninth decile of the largest movement over the grid counts.
    """
    kept = weights > 0.01
    src, dst, weight = slides.found[kept], slides.at[kept], weights[kept]
    if len(src) < 8:
        return float("inf")
    low, high = dst.min(axis=0), dst.max(axis=0)
    cell = np.minimum((dst - low) / np.maximum(high - low, 1e-9) * 4, 3.999)
    number = cell[:, 0].astype(int) * 4 + cell[:, 1].astype(int)
    lot = np.random.default_rng(7)
    used = np.unique(number)
    u = np.linspace(0, 1, 5)
    a, b = np.meshgrid(u, u)
    mix = np.stack([(1 - a) * (1 - b), a * (1 - b), a * b, (1 - a) * b], -1)
    grid = mix.reshape(-1, 4) @ corners
    middle = apply(fit(src, dst, weight, freedom), grid)
    moved = []
    for _ in range(40):
        drawn = np.bincount(lot.choice(used, len(used)), minlength=16)
        again = weight * drawn[number]
        if (again > 0.01).sum() < 6:
            continue
        off = apply(fit(src, dst, again, freedom), grid) - middle
        moved.append(np.hypot(off[:, 0], off[:, 1]).max())
    return float(np.quantile(moved, 0.9)) if len(moved) > 20 else float("inf")
