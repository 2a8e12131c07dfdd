"""Sizes that many boxes on a sheet have: every size is asked for everywhere."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Floats
from board.imaging.storyboard.boxes import PAST, Box, overlap
from board.imaging.storyboard.lines import Lines

COARSE: Final = 440
STEP: Final = 1.1
LEAST_SIDE, MOST_SIDE = 0.05, 0.55
SLIMMEST, WIDEST = 0.45, 4.0
SEEN: Final = 0.7


@dataclass(frozen=True)
class SizeFound:
    """A size that many boxes on the sheet seem to have."""

    worth: float
    boxes: list[Box]


class Coarse:
    """The lines of a sheet at a small size, to be asked for boxes of any size."""

    def __init__(self, lines: Lines) -> None:
        """Make the lines small, once."""
        self.scale = min(1.0, COARSE / max(lines.level.shape))
        self.level = _small(lines.level_near(5), self.scale)
        upright = _small(lines.upright_near(5), self.scale)
        self.upright = np.ascontiguousarray(upright.T)
        self.past = PAST[0] * self.scale, PAST[1] * self.scale

    def across(self, w: int) -> Floats:
        """Look along level sides of one width."""
        return _sided(self.level, w, self.past)

    def down(self, h: int) -> Floats:
        """Look along upright sides of one height."""
        return np.ascontiguousarray(_sided(self.upright, h, self.past).T)

    def asked(self, size: tuple[float, float]) -> SizeFound:
        """Ask for boxes of one size, given in pixels of the straightened sheet."""
        w, h = (max(4, round(side * self.scale)) for side in size)
        return _asked(self.across(w), self.down(h), (w, h), self.scale, 0.5)

    def sizes(self, most: int = 24) -> list[SizeFound]:
        """Ask for boxes of every size everywhere; what explains most comes first.

        References
        ----------
        Ballard, Pattern Recognition 13(2), 1981: votes for a shape at every place; here
        by running means along the sides, one look for each width and height.
        """
        high, wide = self.level.shape
        longest = max(high, wide)
        steps = int(np.log(MOST_SIDE / LEAST_SIDE) / np.log(STEP)) + 1
        sides = sorted({round(LEAST_SIDE * longest * STEP**k) for k in range(steps)})
        rows = {w: self.across(w) for w in sides if w < wide}
        columns = {h: self.down(h) for h in sides if h < high}
        found = [
            _asked(across, down, (w, h), self.scale)
            for w, across in rows.items()
            for h, down in columns.items()
            if SLIMMEST <= w / h <= WIDEST
        ]
        return _different(found, most)


def _different(found: list[SizeFound], most: int) -> list[SizeFound]:
    """Keep the best of sizes that are nearly the same."""
    kept: list[SizeFound] = []
    for size in sorted(found, key=lambda size: -size.worth):
        if len(kept) == most or not size.boxes:
            break
        one = size.boxes[0]
        near = (
            abs(np.log(one.width / other.boxes[0].width)) < 0.11
            and abs(np.log(one.height / other.boxes[0].height)) < 0.11
            for other in kept
        )
        if not any(near):
            kept.append(size)
    return kept


def _sided(level: Floats, w: int, past: tuple[float, float]) -> Floats:
    """How well a level side of one width is drawn that starts at each place."""
    whole = cv2.blur(level, (w, 1), anchor=(0, 0))
    arm = max(3, round(0.2 * w))
    ends = cv2.blur(level, (arm, 1), anchor=(0, 0))
    tail = max(2, round(past[1] - past[0]))
    on = cv2.blur(level, (tail, 1), anchor=(0, 0))
    out = 0.5 * whole + 0.25 * (ends + _drawn_left(ends, w - arm))
    before = _drawn_left(on, -round(past[1]))
    after = _drawn_left(on, w + round(past[0]))
    return np.asarray(out - 0.075 * (before + after), np.float32)


def _drawn_left(rows: Floats, by: int) -> Floats:
    """Bring what lies `by` columns further to the right here; nothing beyond the rim."""
    out = np.zeros_like(rows)
    if by >= rows.shape[1] or -by >= rows.shape[1]:
        return out
    if by >= 0:
        out[:, : rows.shape[1] - by] = rows[:, by:]
    else:
        out[:, -by:] = rows[:, :by]
    return out


def _small(mask: npt.NDArray[np.uint8], scale: float) -> Floats:
    size = (round(mask.shape[1] * scale), round(mask.shape[0] * scale))
    less = cv2.resize(mask * np.float32(1), size, interpolation=cv2.INTER_AREA)
    return np.asarray(np.minimum(less * 1.6, 1), np.float32)


def _asked(
    across: Floats,
    down: Floats,
    size: tuple[int, int],
    scale: float,
    seen_least: float = 0.9 * SEEN,
) -> SizeFound:
    """Find the boxes of one size."""
    w, h = size
    high, wide = across.shape[0] - h, across.shape[1] - w
    if high < 1 or wide < 1:
        return SizeFound(0.0, [])
    top, low = across[:high, :wide], across[h : h + high, :wide]
    left, right = down[:high, :wide], down[:high, w : w + wide]
    least = cv2.min(cv2.min(top, low), cv2.min(left, right))
    seen = cv2.add(cv2.add(top, low), cv2.add(left, right))
    seen = np.asarray(cv2.add(seen, least) * np.float32(0.2))
    if cv2.minMaxLoc(seen)[1] < seen_least:
        return SizeFound(0.0, [])
    kernel = np.ones((max(3, int(h * 0.8)) | 1, max(3, int(w * 0.8)) | 1), np.uint8)
    peak = (seen >= seen_least) & (seen >= cv2.dilate(seen, kernel))
    ys, xs = np.nonzero(peak)
    order = np.argsort(-seen[ys, xs])[:50]
    boxes: list[Box] = []
    worth = 0.0
    for y, x in zip(ys[order], xs[order], strict=True):
        box = Box(x / scale, y / scale, (x + w) / scale, (y + h) / scale)
        if any(overlap(box, other) > 0.25 for other in boxes):
            continue
        boxes.append(box)
        worth += float(seen[y, x]) - 0.5
    return SizeFound(worth * (w * h) ** 0.7, boxes)
