"""What changed between two pictures laid on one another, and how much."""

from dataclasses import dataclass
from functools import partial

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import SizesDiffer
from board.imaging.colour import LINEAR_OF_BYTE, Bytes, Floats, light_to_lab
from board.imaging.difference import delta_e_2000
from board.imaging.drift import drift, undrifted
from board.imaging.focus import equally_soft
from board.imaging.light import light_between
from board.imaging.regions import NEAR, Region, regions_of
from board.imaging.working import Mask, at_once, shrunk

__all__ = ["ChangeMap", "Region", "change_map"]

LONGEST = 2000
HALF = LONGEST // 2
SCALES = (2.0, 6.0, 14.0)
REDUCED = (1, 1, 2)
SURE = (5.0, 2.3, 2.0)
SHIFT = (0.8, 0.5, 0.35)
RIM = 0.0015
LINES_NEAR = 0.008


@dataclass(frozen=True)
class ChangeMap:
    """The difference of two laid pictures.

    `delta` is dE00 pixel by pixel after light and paper are evened out, zero where one
    of the two is not known; `regions` come most important first; `noise_floor` is the
    dE00 that this pair shows where nothing changed.
    """

    delta: Floats
    regions: tuple[Region, ...]
    noise_floor: float


def change_map(
    before: Bytes, after: Bytes, *, mask: npt.NDArray[np.generic] | None = None
) -> ChangeMap:
    """Measure how far each pixel's colour moved between two registered pictures.

    Parameters
    ----------
    before, after : uint8 RGB arrays of shape (rows, columns, 3); row r, column c is the
        same place on the sheet in both
    mask : array (rows, columns), non-zero where both pictures are known; without it
        everything is known, and a white strip in the art is a change

    Raises
    ------
    SizesDiffer

    References
    ----------
    ISO/CIE 11664-6:2022, on Lab blurred at three scales.
    """
    if before.shape != after.shape or (
        mask is not None and mask.shape != before.shape[:2]
    ):
        raise SizesDiffer
    one, _ = shrunk(before, LONGEST)
    two, _ = shrunk(after, LONGEST)
    known = _known(mask, one.shape[:2])
    if min(one.shape[:2]) < 8 or not known.any():
        return ChangeMap(np.zeros(before.shape[:2], np.float32), (), 0.0)
    two = undrifted(two, drift(one, two, known))
    by = max(1.0, max(known.shape) / HALF)
    (one, _), (two, _) = shrunk(one, HALF), shrunk(two, HALF)
    known = _known(known, one.shape[:2]) if by > 1 else known
    one, two = equally_soft(one, two, known)
    lab1, lab2 = _same_light(one, two, known)
    known = _without_rim(known)
    delta, excess, floor = _differences(lab1, lab2, known, by)
    near = LINES_NEAR if _is_drawn(lab1) and _is_drawn(lab2) else NEAR
    found = regions_of(excess, delta, lab2 - lab1, known, near=near)
    high, wide = before.shape[:2]
    if delta.shape != (high, wide):
        delta = cv2.resize(delta, (wide, high), interpolation=cv2.INTER_LINEAR)
    return ChangeMap(delta, found, floor)


def _known(mask: npt.NDArray[np.generic] | None, shape: tuple[int, ...]) -> Mask:
    if mask is None:
        return np.full(shape, 255, np.uint8)
    solid = np.where(np.asarray(mask) != 0, 255, 0).astype(np.uint8)
    small = cv2.resize(solid, (shape[1], shape[0]), interpolation=cv2.INTER_AREA)
    inner = np.where(small == 255, 255, 0).astype(np.uint8)
    return np.asarray(
        cv2.erode(inner, np.ones((5, 5), np.uint8), borderValue=255), np.uint8
    )


def _is_drawn(lab: Floats) -> bool:
    """Say whether a picture is lines on paper: then a change is many thin pieces."""
    sample = lab[::8, ::8].reshape(-1, 3)
    chroma = np.hypot(sample[:, 1], sample[:, 2])
    return bool(np.median(chroma) < 10 and np.quantile(sample[:, 0], 0.3) > 75)


def _without_rim(known: Mask) -> Mask:
    """Leave out the very rim, where the table shows through the slightest misfit."""
    rows, columns = known.shape
    rim = round(RIM * max(rows, columns)) if min(rows, columns) > 100 else 0
    out = np.zeros_like(known)
    inner = (slice(rim, rows - rim), slice(rim, columns - rim))
    out[inner] = known[inner]
    return out


def _same_light(one: Bytes, two: Bytes, known: Mask) -> tuple[Floats, Floats]:
    """Give both as Lab in the light of the first, clipping left out."""
    light = light_between(one, two, known)
    mine, lit = linear_of(one), light.seen(two)
    at = np.flatnonzero((two >= 253) | (two <= 2) | (one >= 253))
    before, now, was, seen = (a.flat[at] for a in (one, two, mine, lit))
    lost = ((now >= 253) & (was > seen)) | ((now <= 2) & (was < seen))
    lost |= (before >= 253) & (seen > was)
    lit.flat[at[lost]] = was[lost]
    np.clip(lit, 0, 1, out=lit)
    return light_to_lab(mine), light_to_lab(lit)


def linear_of(picture: Bytes) -> Floats:
    """Give the linear light 0..1 of an sRGB picture."""
    return np.asarray(cv2.LUT(picture, LINEAR_OF_BYTE), dtype=np.float32)


def _differences(
    lab1: Floats, lab2: Floats, known: Mask, smaller: float
) -> tuple[Floats, Floats, float]:
    """Give dE00 to show, how far it exceeds what needs no change, and the floor.

    What is told in pixels is told in those of the pictures before they were made so
    many times `smaller`.
    """
    seen = known > 0
    excess = np.full(known.shape, -9.0, np.float32)
    finer: list[Floats] = []
    floor = 0.0
    for scale, again, sure, shift in zip(SCALES, REDUCED, SURE, SHIFT, strict=True):
        one, two, there = _reduced(lab1, lab2, seen, again)
        by = smaller * again
        sigma = scale / by
        total = cv2.GaussianBlur(there, (0, 0), sigma)
        np.maximum(total, 1e-3, out=total)
        look = partial(_blurred_and_slope, weights=(there, total), sigma=sigma)
        (one, slope1), (two, slope2) = at_once(look, one, two)
        delta = delta_e_2000(one, two)
        usual = float(np.median(delta[there > 0.5])) if (there > 0.5).any() else 0.0
        floor = floor or usual
        slopes = np.minimum(slope1, slope2 * 2)
        over = np.asarray(
            (delta - shift / by * slopes - 1.2 * usual) / sure, np.float32
        )
        delta, over = _enlarged(delta, known.shape), _enlarged(over, known.shape)
        for sharp in finer:
            # A blur's halo reaches past the change; the sharper look does not.
            np.copyto(over, np.float32(-9), where=sharp <= 0.5 * delta)
        np.maximum(excess, over, out=excess)
        finer.append(delta)
    excess[~seen] = -9
    shown = np.where(seen, finer[0], np.float32(0))
    return shown, excess, floor


def _reduced(
    lab1: Floats, lab2: Floats, seen: npt.NDArray[np.bool_], by: int
) -> tuple[Floats, Floats, Floats]:
    """Give both, and how far each place is known, at a fraction of the size."""
    there = seen.astype(np.float32)
    rows, columns = there.shape
    if by == 1:
        return lab1, lab2, there
    size = (max(1, columns // by), max(1, rows // by))
    small = [
        cv2.resize(a, size, interpolation=cv2.INTER_AREA) for a in (lab1, lab2, there)
    ]
    return small[0], small[1], small[2]


def _enlarged(field: Floats, shape: tuple[int, ...]) -> Floats:
    if field.shape == shape:
        return field
    return np.asarray(
        cv2.resize(field, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)
    )


def _blurred_and_slope(
    lab: Floats, *, weights: tuple[Floats, Floats], sigma: float
) -> tuple[Floats, Floats]:
    """Blur Lab over what is known only; and its slopes.

    Parameters
    ----------
    weights : how far each place is known, and the same blurred
    """
    there, total = weights
    soft = cv2.GaussianBlur(lab * there[..., None], (0, 0), sigma)
    soft /= total[..., None]
    return soft, _slope(soft, sigma)


def _slope(lab: Floats, sigma: float) -> Floats:
    """Give the steepest slope nearby, dE a pixel: what a slight shift would cost."""
    squared, down = cv2.Sobel(lab, -1, 1, 0), cv2.Sobel(lab, -1, 0, 1)
    squared *= squared
    down *= down
    squared += down
    power = cv2.transform(squared, np.array([[1, 0.4, 0.4]], np.float32) / 64)
    side = 2 * round(sigma) + 1
    steepest = cv2.dilate(power, np.ones((side, side), np.uint8))
    return np.asarray(cv2.sqrt(steepest), dtype=np.float32)
