"""From a map of differences to a list of places, most important first."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Floats
from board.imaging.working import Mask

SEED, GROW = 1.0, 0.5
NEAR = 0.004
LEAST = 40e-6
MOST = 60


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


def regions_of(excess: Floats, delta: Floats, known: Mask) -> tuple[Region, ...]:
    """Gather what is surely changed, grown into what probably is, into regions.

    Parameters
    ----------
    excess : float32 array (rows, columns), 1 and up where a change is sure
    delta : float32 array (rows, columns), dE00
    known : uint8 array (rows, columns), 255 where both pictures are known

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
    reach = max(1, round(NEAR * max(rows, columns)))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    _, group = cv2.connectedComponents(
        cv2.dilate(kept.astype(np.uint8), disc), connectivity=8
    )
    group = np.where(kept, np.asarray(group), 0)
    found = _measured(group, delta)
    ranked = sorted(found, key=lambda r: -r.mean * r.area**0.5)
    return tuple(ranked[:MOST])


def _measured(group: np.ndarray, delta: Floats) -> list[Region]:
    rows, columns = group.shape
    ys, xs = np.nonzero(group)
    number = group[ys, xs]
    order = np.argsort(number, kind="stable")
    ys, xs, number = ys[order], xs[order], number[order]
    ends = np.flatnonzero(np.diff(number)) + 1
    out = []
    for y, x in zip(np.split(ys, ends), np.split(xs, ends), strict=True):
        area = len(y) / (rows * columns)
        if area < LEAST:
            continue
        values = delta[y, x]
        out.append(
            Region(
                x=float(x.min() / columns),
                y=float(y.min() / rows),
                w=float((np.ptp(x) + 1) / columns),
                h=float((np.ptp(y) + 1) / rows),
                area=area,
                mean=float(values.mean()),
                peak=float(np.quantile(values, 0.98)),
            )
        )
    return out
