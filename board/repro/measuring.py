"""The mean colour of a marked place on a laid picture, and how far colours are apart.

CIELAB under D50 and CIEDE2000 as in `imaging.colour` (ISO/CIE 11664-4 and -6). What a
screen or a scan adds is not taken out: figures compare pictures of one book, they are
no colour measurement of paper.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import NotUnderstood
from board.imaging.colour import srgb_to_lab
from board.imaging.difference import delta_e_2000
from board.repro.unlaid import laid_working

MOST_PIXELS = 40_000
LEAST_PIXELS = 4
TOO_SMALL = "The marked place is too small to measure."
Lab = tuple[float, float, float]
Place = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class MeanColour:
    """Mean L*, a*, b*; `noise` is the mean dE00 of its pixels to that mean."""

    lab: Lab
    noise: float
    pixels: int


@lru_cache(maxsize=1024)
def mean_colour(picture: str, place: Place) -> MeanColour:
    """Measure a marked place on a laid picture.

    Parameters
    ----------
    picture : key of the laid picture; what lies under a key never changes.
    place : two corners of a box, or three and more of a loop, each x, y in fractions
        of the laid picture.

    Raises
    ------
    NotFound
        when the laid picture is gone.
    NotUnderstood
        when the place lies outside of the picture or holds less than 4 pixels.
    """
    pixels = laid_working(picture)
    height, width = pixels.shape[:2]
    xs, ys = ([min(max(one[at], 0), 1) for one in place] for at in (0, 1))
    left, right = round(min(xs) * width), round(max(xs) * width)
    top, bottom = round(min(ys) * height), round(max(ys) * height)
    cut = pixels[top:bottom, left:right]
    if cut.shape[0] * cut.shape[1] < LEAST_PIXELS:
        raise NotUnderstood(TOO_SMALL)
    step = max(1, int(np.ceil((cut.shape[0] * cut.shape[1] / MOST_PIXELS) ** 0.5)))
    lab = srgb_to_lab(np.ascontiguousarray(cut[::step, ::step]))
    lab = lab[_within(place, (left, top), (width, height), cut.shape)[::step, ::step]]
    if len(lab) < LEAST_PIXELS:
        raise NotUnderstood(TOO_SMALL)
    mean = lab.mean(axis=0, dtype=np.float64).astype(np.float32)
    apart = delta_e_2000(lab, np.broadcast_to(mean, lab.shape).copy())
    told = (float(mean[0]), float(mean[1]), float(mean[2]))
    return MeanColour(told, float(np.mean(apart)), len(lab))


def _within(
    place: Place, at: tuple[int, int], size: tuple[int, int], shape: tuple[int, ...]
) -> npt.NDArray[np.bool_]:
    """Which pixels of a cut lie in the place; `at` is its corner, `size` the picture."""
    if len(place) == 2:
        return np.ones(shape[:2], np.bool_)
    drawn = np.zeros(shape[:2], np.uint8)
    corners = np.round(np.asarray(place) * size - at).astype(np.int32)
    cv2.fillPoly(drawn, [corners], (1,))
    return np.asarray(drawn, np.bool_)


def from_median(labs: Sequence[Lab]) -> list[float]:
    """Give each colour's CIEDE2000 to the median of all, taken for L*, a*, b* apart."""
    if not labs:
        return []
    held = np.asarray(labs, dtype=np.float32)
    middle = np.broadcast_to(np.median(held, axis=0), held.shape)
    apart = delta_e_2000(held, np.ascontiguousarray(middle, dtype=np.float32))
    return [float(one) for one in apart]
