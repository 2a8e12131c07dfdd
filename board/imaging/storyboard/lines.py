"""Where a straightened sheet has level and upright lines, drawn or as edges of washes."""

from dataclasses import dataclass
from typing import Final, TypeVar

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats
from board.imaging.storyboard.paper import Straight
from board.imaging.storyboard.ruling import pitch, unruled

FAINTEST: Final = 0.03
RUN: Final = 19
TOLERANCE: Final = 5
Mask = npt.NDArray[np.uint8]
Kind = TypeVar("Kind", bound=np.generic)


@dataclass(frozen=True)
class Lines:
    """Lines of a straightened sheet.

    Attributes
    ----------
    level, upright : uint8 (rows, columns), 1 on a line
    level_strength, upright_strength : float32, darkness over both sides, or step
    level_stroke, upright_stroke : float32, darkness over both sides alone
    dark : float32, ink without the paper's ruling
    squared : whether the paper is printed with squares
    """

    level: Mask
    upright: Mask
    level_strength: Floats
    upright_strength: Floats
    level_stroke: Floats
    upright_stroke: Floats
    dark: Floats
    squared: bool

    def level_near(self, by: int = TOLERANCE) -> Mask:
        """Level lines widened up and down, for sides that are not quite straight."""
        return np.asarray(cv2.dilate(self.level, np.ones((2 * by + 1, 1), np.uint8)))

    def upright_near(self, by: int = TOLERANCE) -> Mask:
        """Upright lines widened to left and right."""
        return np.asarray(cv2.dilate(self.upright, np.ones((1, 2 * by + 1), np.uint8)))


def lines_of(sheet: Straight) -> Lines:
    """Find the lines; on ruled paper only what is darker than its ruling."""
    dark = np.ascontiguousarray(sheet.ink.max(axis=2))
    (flat, drawn), (steep, upright_drawn) = _both(dark)
    printed = pitch(flat, sheet.inside), pitch(steep.T, sheet.inside.T)
    if any(printed):
        dark = np.ascontiguousarray(sheet.ink.min(axis=2))
        (flat, drawn), (steep, upright_drawn) = _both(dark)
        squares = np.zeros_like(dark)
        if printed[0]:
            flat, drawn, under = unruled(flat, drawn, sheet.inside, printed[0])
            squares = np.maximum(squares, under)
        if printed[1]:
            both = _turned(steep), _turned(upright_drawn), _turned(sheet.inside)
            turned = unruled(*both, printed[1])
            steep, upright_drawn, under = map(_turned, turned)
            squares = np.maximum(squares, under)
        dark = np.maximum(dark - squares, 0)
    least = _least(flat, steep, sheet)
    level, upright = _runs(flat, least), _runs(_turned(steep), least)
    keep = sheet.inside.astype(np.uint8)
    return Lines(
        level=level * keep,
        upright=_turned(upright) * keep,
        level_strength=flat,
        upright_strength=steep,
        level_stroke=drawn,
        upright_stroke=upright_drawn,
        dark=dark,
        squared=all(printed),
    )


def _both(dark: Floats) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Strength and stroke of level lines, then of upright ones."""
    steep, stroke = _strength(_turned(dark))
    return _strength(dark), (_turned(steep), _turned(stroke))


def _least(flat: Floats, steep: Floats, sheet: Straight) -> float:
    noise = np.median(
        np.concatenate([flat[sheet.inside][::7], steep[sheet.inside][::7]])
    )
    return max(FAINTEST, 5 * float(noise))


def _turned(rows: npt.NDArray[Kind]) -> npt.NDArray[Kind]:
    return np.ascontiguousarray(rows.T)


def _strength(dark: Floats) -> tuple[Floats, Floats]:
    """Say how much darker than above and below, or half the step; the first also alone."""
    along = cv2.blur(dark, (9, 1))
    soft = cv2.GaussianBlur(along, (1, 5), 1.0)
    out = np.zeros_like(soft)
    for far in (4, 8):
        np.maximum(
            out, soft - np.maximum(_moved(soft, far), _moved(soft, -far)), out=out
        )
    step = np.abs(_moved(soft, 2) - _moved(soft, -2))
    return np.asarray(np.maximum(out, 0.5 * step)), out


def _moved(rows: Floats, by: int) -> Floats:
    """Shift down by some rows; the rim repeats."""
    out = np.empty_like(rows)
    if by > 0:
        out[by:], out[:by] = rows[:-by], rows[0]
    else:
        out[:by], out[by:] = rows[-by:], rows[-1]
    return out


def _runs(strength: Floats, least: float) -> Mask:
    """Keep what goes on for a while in one direction."""
    on = (strength > least).astype(np.uint8)
    on = cv2.dilate(on, np.ones((3, 5), np.uint8))
    return np.asarray(cv2.morphologyEx(on, cv2.MORPH_OPEN, np.ones((1, RUN), np.uint8)))
