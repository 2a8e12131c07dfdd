"""Printed squares and lines of the paper: told by their even step, and taken away."""

from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats

LEAST_STEP, MOST_STEP = 9, 80  # pixels of the straightened sheet
EVEN: Final = 0.3  # how alike the sheet must be to itself some steps further
BLOCK: Final = 16
WINDOW: Final = 15  # blocks that tell how dark a printed line is
BARE: Final = 25  # per cent of a printed line that nobody draws over
OVER: Final = 1.3  # as much darker as ruling may become by chance
Mask = npt.NDArray[np.bool_]


def pitch(level: Floats, inside: Mask) -> int:
    """Give the step of level printed lines; 0 where there are none.

    Parameters
    ----------
    level : float32 (rows, columns), strength of level lines
    inside : bool (rows, columns)

    References
    ----------
    Periods by autocorrelation, common practice; frames repeat too, but not so often.
    """
    profile = _profile(level, inside)
    if len(profile) < 4 * LEAST_STEP or not profile.any():
        return 0
    tops = [profile[k : k + MOST_STEP].max() for k in range(0, len(profile), MOST_STEP)]
    profile = np.minimum(profile, np.percentile(tops, 30))
    profile = profile - cv2.blur(profile[:, None], (1, 61))[:, 0]
    whole = np.correlate(profile, profile, "full")[len(profile) - 1 :]
    alike = whole / max(float(whole[0]), 1e-12)
    alike *= len(alike) / np.maximum(1, np.arange(len(alike), 0, -1))
    steps = range(LEAST_STEP, min(MOST_STEP, len(alike) // 6))
    even = [_evenness(alike, step) for step in steps]
    least = max(EVEN, 0.85 * max(even, default=0.0))  # twice a step is as even as once
    first = next((step for step, so in zip(steps, even, strict=True) if so >= least), 0)
    return first + int(alike[first : first + 3].argmax()) if first else 0


def _evenness(alike: npt.NDArray[np.float64], step: int) -> float:
    """How alike the sheet is to itself one, two, three and four steps further."""
    near = (alike[max(0, k * step - k) : k * step + k + 1] for k in (1, 2, 3, 4))
    return min(float(part.max()) for part in near)


def _profile(level: Floats, inside: Mask) -> Floats:
    """How strong each row's lines are where least is drawn."""
    rows = [
        np.percentile(row[on], 40) if on.sum() > 0.3 * len(on) else 0.0
        for row, on in zip(level[:, ::3], inside[:, ::3], strict=True)
    ]
    return np.asarray(rows, np.float32)


def unruled(
    level: Floats, stroke: Floats, inside: Mask, step: int
) -> tuple[Floats, Floats, Floats]:
    """Take level printed lines out of strengths; the last is how dark they are."""
    under = _printed(level, inside, step)
    return np.maximum(level - under, 0), np.maximum(stroke - under, 0), under


def _printed(level: Floats, inside: Mask, step: int) -> Floats:
    """How dark the ruling is at every place, by what is bare of each of its lines.

    Most stretches as long as a step have a printed line and no drawn one.
    """
    high, wide = level.shape
    blocks = max(WINDOW, wide // BLOCK)
    small = _in_blocks(level, inside, blocks)
    half = WINDOW // 2
    padded = np.pad(small, ((0, 0), (half, half)), mode="reflect")
    windows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW, axis=1)
    bare = np.percentile(windows, BARE, axis=2).astype(np.float32)
    rows = np.median(bare, axis=1)[inside.any(axis=1)]
    usual = np.median([rows[k : k + step].max() for k in range(0, len(rows), step)])
    bare = np.asarray(OVER * np.minimum(bare, 1.6 * usual), np.float32)
    return np.asarray(cv2.resize(bare, (wide, high), interpolation=cv2.INTER_LINEAR))


def _in_blocks(level: Floats, inside: Mask, blocks: int) -> Floats:
    """Means along each row; what lies beside the page is filled in from its row."""
    size = (blocks, level.shape[0])
    cover = cv2.resize(inside * np.float32(1), size, interpolation=cv2.INTER_AREA)
    near = cv2.dilate(level * inside, np.ones((3, 1), np.uint8))
    small = cv2.resize(near, size, interpolation=cv2.INTER_AREA)
    small /= np.maximum(cover, 0.3)
    for row, on in zip(small, cover > 0.3, strict=True):
        if on.any():
            row[~on] = np.median(row[on])
    return np.asarray(small)
