"""Boxes on a straightened sheet: how much of each side is drawn, and where it lies."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.lines import Lines

SLACK: Final = 0.09
TRIED: Final = 3
UNDRAWN, RUNS_ON = 0.25, 0.4  # what an open side costs, and lines that run past it
PAST: Final = (8.0, 20.0)  # pixels past a corner
Many = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Box:
    """A box by its outer places, with how much of each side is drawn.

    Attributes
    ----------
    x0, y0, x1, y1 : pixels of the straightened sheet
    sides : share of top, right, bottom, left that is drawn, 0 .. 1
    ends : share of the two places just past its top, right, bottom and left where a
        side goes on, 0 .. 1
    guessed : whether its neighbours said where it is
    """

    x0: float
    y0: float
    x1: float
    y1: float
    sides: tuple[float, ...] = (0, 0, 0, 0)
    ends: tuple[float, ...] = (0, 0, 0, 0)
    guessed: bool = False

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    @property
    def area(self) -> float:
        return self.width * self.height

    @property
    def drawn(self) -> float:
        """Mean of the sides, the worst of them counted twice."""
        return (sum(self.sides) + min(self.sides)) / 5

    @property
    def past(self) -> float:
        """Share of the places just past its corners where a side goes on, 0 .. 1."""
        return sum(self.ends) / 4

    @property
    def told(self) -> float:
        """As `drawn`, or more where three sides are drawn and end at the open fourth."""
        least = min(self.sides)
        three = (sum(self.sides) - least) / 3
        beyond = self.ends[self.sides.index(least)]
        return max(self.drawn, three - UNDRAWN - RUNS_ON * beyond)


def overlap(one: Box, two: Box) -> float:
    """Share of the smaller box that lies in the other."""
    wide = min(one.x1, two.x1) - max(one.x0, two.x0)
    high = min(one.y1, two.y1) - max(one.y0, two.y0)
    if wide <= 0 or high <= 0:
        return 0.0
    return wide * high / max(1.0, min(one.area, two.area))


class Support:
    """Running sums over the lines, so that any sides are weighed in one go."""

    def __init__(self, lines: Lines, by: int = 6) -> None:
        """Sum level lines along rows and upright ones along columns."""
        self.shape = lines.level.shape
        self.level = _summed(lines.level_near(by))
        self.upright = _summed(np.ascontiguousarray(lines.upright_near(by).T))
        self.thin_level = _summed(lines.level_near(2))
        self.thin_upright = _summed(np.ascontiguousarray(lines.upright_near(2).T))

    def across(self, y: Many, x0: Many, x1: Many) -> Many:
        """Share of level sides that is drawn; arrays of one shape, or broadcast."""
        return _share(self.level, y, x0, x1)

    def down(self, x: Many, y0: Many, y1: Many) -> Many:
        """Share of upright sides that is drawn."""
        return _share(self.upright, x, y0, y1)

    def down_thin(self, x: Many, y0: Many, y1: Many) -> Many:
        """Share of upright sides that is drawn right there, not somewhere near."""
        return _share(self.thin_upright, x, y0, y1)

    def sides(self, at: Many) -> Many:
        """Weigh the four sides of boxes (..., 4): half by the whole, half by the ends."""
        return np.stack(self._sides(*np.moveaxis(at, -1, 0)), axis=-1)

    def _sides(self, x0: Many, y0: Many, x1: Many, y1: Many) -> list[Many]:
        """Top, right, bottom and left; each only as large as its three places ask."""
        return [
            _side(self.level, y0, x0, x1),
            _side(self.upright, x1, y0, y1),
            _side(self.level, y1, x0, x1),
            _side(self.upright, x0, y0, y1),
        ]

    def _middled(self, x0: Many, y0: Many, x1: Many, y1: Many) -> Many:
        """How well the sides run along the middle of their lines."""
        level = _share(self.thin_level, y0, x0, x1)
        level = level + _share(self.thin_level, y1, x0, x1)
        upright = _share(self.thin_upright, x1, y0, y1)
        return (level + (upright + _share(self.thin_upright, x0, y0, y1))) / 4

    def ends(self, at: Many) -> Many:
        """Share of the two places past top, right, bottom and left that is drawn."""
        return np.stack(self._ends(*np.moveaxis(at, -1, 0)), axis=-1)

    def _past(self, x0: Many, y0: Many, x1: Many, y1: Many) -> Many:
        return np.asarray(sum(self._ends(x0, y0, x1, y1)) / 4)

    def _ends(self, x0: Many, y0: Many, x1: Many, y1: Many) -> list[Many]:
        near, far = PAST

        def beside(a: Many, b: Many) -> Many:
            return (self.across(y0, a, b) + self.across(y1, a, b)) / 2

        def over(a: Many, b: Many) -> Many:
            return (self.down(x0, a, b) + self.down(x1, a, b)) / 2

        return [
            over(y0 - far, y0 - near),
            beside(x1 + near, x1 + far),
            over(y1 + near, y1 + far),
            beside(x0 - far, x0 - near),
        ]

    def weighed(self, box: Box) -> Box:
        """Say how much of each side is drawn, and what goes on past the corners."""
        at = np.array([box.x0, box.y0, box.x1, box.y1])
        sides = tuple(float(side) for side in self.sides(at))
        return replace(box, sides=sides, ends=tuple(self.ends(at).tolist()))

    def placed(self, boxes: Sequence[Box], slack: float = SLACK) -> list[Box]:
        """Move the sides of boxes a little to where most of them is drawn."""
        if not boxes:
            return []
        at = np.array([[box.x0, box.y0, box.x1, box.y1] for box in boxes])
        for _ in range(2):
            at = self._moved(at, slack)
        sides, ends = self.sides(at), self.ends(at)
        return [
            replace(box, x0=float(x0), y0=float(y0), x1=float(x1), y1=float(y1),
                    sides=tuple(four), ends=tuple(on))
            for box, (x0, y0, x1, y1), four, on
            in zip(boxes, at, sides.tolist(), ends.tolist(), strict=True)
        ]  # fmt: skip

    def _moved(self, at: Many, slack: float) -> Many:
        """Try some places for each side of each box, and keep the best of all mixes."""
        x0, y0, x1, y1 = at.T
        wide, high = x1 - x0, y1 - y0
        xs = (x0 + 0.12 * wide, x1 - 0.12 * wide)
        ys = (y0 + 0.12 * high, y1 - 0.12 * high)
        tries = [
            _places((self.upright, self.thin_upright), x0, ys, slack * wide),
            _places((self.level, self.thin_level), y0, xs, slack * high),
            _places((self.upright, self.thin_upright), x1, ys, slack * wide),
            _places((self.level, self.thin_level), y1, xs, slack * high),
        ]
        return self._best(at, tries, alone=slack > 0.05)

    def _best(self, at: Many, tries: list[Many], *, alone: bool) -> Many:
        """Choose the best mix of the tries (n, TRIED) for left, top, right and bottom.

        Every try has an axis of its own, so that a side is weighed once for all mixes
        that share it.
        """
        x0, y0, x1, y1 = (
            one.reshape(len(at), *(TRIED if k == axis else 1 for k in range(4)))
            for axis, one in enumerate(tries)
        )
        four = self._sides(x0, y0, x1, y1)
        least = np.minimum(np.minimum(four[0], four[1]), np.minimum(four[2], four[3]))
        worth = (four[0] + four[1] + four[2] + four[3] + least) / 5
        worth = worth + 0.2 * self._middled(x0, y0, x1, y1)
        if alone:
            worth = worth - 0.15 * self._past(x0, y0, x1, y1)
        was = at.T.reshape(4, len(at), 1, 1, 1, 1)
        wide, high = was[2] - was[0], was[3] - was[1]
        moved = (np.abs(x0 - was[0]) + np.abs(x1 - was[2])) / wide
        moved = moved + (np.abs(y0 - was[1]) + np.abs(y1 - was[3])) / high
        best = (worth - 0.0625 * moved).reshape(len(at), -1).argmax(axis=1)
        rows = np.arange(len(at))
        picked = np.unravel_index(best, (TRIED,) * 4)
        return np.stack([tries[k][rows, picked[k]] for k in range(4)], axis=-1)


def _summed(mask: npt.NDArray[np.uint8]) -> npt.NDArray[np.int32]:
    return np.pad(np.cumsum(mask, axis=1, dtype=np.int32), ((0, 0), (1, 0)))


def _share(sums: npt.NDArray[np.int32], line: Many, start: Many, end: Many) -> Many:
    rows, most = sums.shape
    at = np.clip(np.rint(line), 0, rows - 1).astype(np.intp)
    a = np.clip(np.rint(start), 0, most - 1).astype(np.intp)
    b = np.clip(np.rint(end), 0, most - 1).astype(np.intp)
    return np.asarray((sums[at, b] - sums[at, a]) / np.maximum(1, b - a))


def _side(sums: npt.NDArray[np.int32], line: Many, start: Many, end: Many) -> Many:
    cut, arm = 0.03 * (end - start), 0.2 * (end - start)
    whole = _share(sums, line, start + cut, end - cut)
    ends = _share(sums, line, start + cut, start + arm) + _share(
        sums, line, end - arm, end - cut
    )
    return 0.5 * whole + 0.25 * ends


def _places(
    sums: tuple[npt.NDArray[np.int32], npt.NDArray[np.int32]],
    at: Many,
    ends: tuple[Many, Many],
    reach: Many,
) -> Many:
    """The best drawn places near each side, (n, TRIED); few may repeat."""
    most = int(np.clip(reach.max(), 6, 30))
    off = np.arange(-most, most + 1)
    places = at[:, None] + off
    share = _share(sums[0], places, ends[0][:, None], ends[1][:, None])
    share = share + _share(sums[1], places, ends[0][:, None], ends[1][:, None])
    far = np.abs(off) / np.clip(reach, 6, 30)[:, None]
    share = np.where(far > 1, -1, share)
    smooth = cv2.blur(share.astype(np.float32), (7, 1)) - 0.03 * far
    found = []
    rows = np.arange(len(at))
    for _ in range(TRIED):
        best = smooth.argmax(axis=1)
        found.append(np.where(share[rows, best] > 0.2, places[rows, best], at))
        smooth[np.abs(off[None] - off[best][:, None]) < 7] = -2
    return np.stack(found, axis=1)
