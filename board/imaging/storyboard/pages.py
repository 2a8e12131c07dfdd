"""Boxes that are two single pages side by side, each with its own sides."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.boxes import Box, Support

SIDE: Final = 0.6  # share of the height that a side must be drawn
APART: Final = 7.0  # pixels between two pages, so that a fold is no pair of sides
CLOSE: Final = 0.35  # of the height: as far as they stand apart at most
BARE: Final = 0.55  # as much may be drawn over and under the white between them
MIDDLE: Final = 0.08
NEAR: Final = np.arange(-6.0, 7.0, 3.0)
SAME: Final = 5
Many = npt.NDArray[np.float64]


def parted_pages(boxes: Sequence[Box], support: Support) -> list[Box]:
    """Take apart what is two pages: two lines in the middle, and white between them."""
    found: list[Box] = []
    for box in boxes:
        two = _pages(box, support)
        found += support.placed(two, 0.03) if two else [box]
    return found


def _pages(box: Box, support: Support) -> list[Box]:
    xs = np.arange(box.x0 + 0.2 * box.width, box.x1 - 0.2 * box.width)
    cut = 0.08 * box.height
    ends = np.full(len(xs), box.y0 + cut), np.full(len(xs), box.y1 - cut)
    best: list[Box] = []
    most = BARE
    for left, right in pairwise(_peaks(support.down_thin(xs, *ends), xs).tolist()):
        far = right - left
        off = (left + right - box.x0 - box.x1) / 2 / box.width
        if not APART < far < CLOSE * box.height or abs(off) > MIDDLE:
            continue
        start, end = (
            np.full(len(NEAR), x) for x in (left + 0.35 * far, right - 0.35 * far)
        )
        drawn = [support.across(y + NEAR, start, end).max() for y in (box.y0, box.y1)]
        if np.mean(drawn) < most:
            most = float(np.mean(drawn))
            best = [replace(box, x1=left), replace(box, x0=right)]
    return best


def _peaks(drawn: Many, at: Many) -> Many:
    """Where an upright line is: the middles of what stands out."""
    soft = cv2.blur(drawn.astype(np.float32)[:, None], (1, 5))[:, 0]
    top = cv2.dilate(soft[:, None], np.ones((13, 1), np.uint8))[:, 0]
    on = np.flatnonzero((soft >= top) & (soft > SIDE))
    groups = np.split(on, np.flatnonzero(np.diff(on) > SAME) + 1) if len(on) else []
    return np.array([float(at[group].mean()) for group in groups])
