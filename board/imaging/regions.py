"""From a map of differences to a list of places, most important first."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats
from board.imaging.working import Mask

SEED, GROW = 1.0, 0.5
NEAR = 0.004
LEAST = 40e-6
MOST = 60
FAINTEST = 0.065
PLAIN, STEP = 5.0, 0.7
WHOLE = 2000

Pixels = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]
Labels = npt.NDArray[np.int32]
Kept = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Region:
    """One changed place: its box and `area` as fractions of the picture, its dE00."""

    x: float
    y: float
    w: float
    h: float
    area: float
    mean: float
    peak: float


def regions_of(
    excess: Floats, delta: Floats, moved: Floats, known: Mask, *, near: float = NEAR
) -> tuple[Region, ...]:
    """Gather what is surely changed, grown into what probably is, into regions.

    Parameters
    ----------
    excess : float32 array (rows, columns), 1 and up where a change is sure
    delta : float32 array (rows, columns), dE00
    moved : float32 array (rows, columns, 3), the signed difference in Lab
    known : uint8 array (rows, columns), 255 where both pictures are known
    near : share of the longer side up to which pieces belong to one region

    Returns
    -------
    Regions by mean dE00 x root of area, at most 60.
    """
    rows, columns = excess.shape
    probable = ((excess > GROW) & (known > 0)).astype(np.uint8)
    _, label = cv2.connectedComponents(probable, connectivity=8)
    label = np.asarray(label)
    sure = np.unique(label[(excess > SEED) & (known > 0)])
    kept = np.isin(label, sure[sure > 0])
    reach = max(1, round(near * max(rows, columns)))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    _, group = cv2.connectedComponents(
        cv2.dilate(kept.astype(np.uint8), disc), connectivity=8
    )
    group = np.where(kept, np.asarray(group), 0)
    sums = cv2.GaussianBlur(moved, (0, 0), 2.0 * max(rows, columns) / WHOLE)
    found = [
        region
        for region, piece in _measured(group, delta)
        if region.mean >= PLAIN or _stands_out(piece, region, sums, kept, known)
    ]
    ranked = sorted(found, key=lambda r: -r.mean * r.area**0.5)
    return tuple(ranked[:MOST])


def _measured(group: Labels, delta: Floats) -> Iterator[tuple[Region, Pixels]]:
    """Give each group large and strong enough, with its pixels' rows and columns."""
    rows, columns = group.shape
    ys, xs = np.nonzero(group)
    order = np.argsort(group[ys, xs], kind="stable")
    ys, xs = ys[order], xs[order]
    ends = np.flatnonzero(np.diff(group[ys, xs])) + 1
    for y, x in zip(np.split(ys, ends), np.split(xs, ends), strict=True):
        area = len(y) / (rows * columns)
        if area < LEAST:
            continue
        values = delta[y, x]
        mean = float(values.mean())
        if mean * area**0.5 < FAINTEST:
            continue
        yield (
            Region(
                x=float(x.min() / columns),
                y=float(y.min() / rows),
                w=float((np.ptp(x) + 1) / columns),
                h=float((np.ptp(y) + 1) / rows),
                area=area,
                mean=mean,
                peak=float(np.quantile(values, 0.98)),
            ),
            (y, x),
        )


def _stands_out(
    piece: Pixels, region: Region, moved: Floats, kept: Kept, known: Mask
) -> bool:
    """Say whether a faint difference ends in a step: paint does, light fades away."""
    rows, columns = known.shape
    unit = max(rows, columns) / WHOLE
    pad = max(2, round(16 * unit))
    top, left = max(0, round(region.y * rows) - pad), round(region.x * columns) - pad
    left = max(0, left)
    bottom = round((region.y + region.h) * rows) + pad
    right = round((region.x + region.w) * columns) + pad
    here = (slice(top, bottom), slice(left, right))
    field = moved[here]
    mask = np.zeros(field.shape[:2], np.uint8)
    mask[piece[0] - top, piece[1] - left] = 1
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, _disc(4 * unit))
    core = cv2.erode(mask, _disc(3 * unit))
    inside = ((core if core.sum() > 40 * unit**2 else mask) > 0) & (
        cv2.erode(mask, _disc(11 * unit)) == 0
    )
    outside = cv2.dilate(mask, _disc(12 * unit)) > 0
    outside &= cv2.dilate(mask, _disc(4 * unit)) == 0
    outside &= (known[here] > 0) & ~kept[here]
    if min(inside.sum(), outside.sum()) < 20 * unit**2:
        return True
    step = np.median(field[inside], axis=0) - np.median(field[outside], axis=0)
    level = np.median(field[inside], axis=0)
    return bool(np.linalg.norm(step) > STEP * np.linalg.norm(level))


def _disc(radius: float) -> Mask:
    side = 2 * max(1, round(radius)) + 1
    return np.asarray(
        cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8
    )
