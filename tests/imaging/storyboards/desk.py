"""A second, independent hand: sheets in millimetres, other tools, papers and cameras."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from tests.imaging.storyboards.marks import Light, Points

PAPERS = (
    (297, 210),
    (210, 297),
    (420, 297),
    (279, 216),
    (216, 279),
    (240, 240),
    (250, 190),
)
GRIDS = (
    (0.72, 0.84, 0.94),
    (0.78, 0.78, 0.8),
    (0.72, 0.87, 0.76),
    (0.93, 0.79, 0.66),
    (0.6, 0.66, 0.72),
)


@dataclass
class Leaf:
    """A leaf of paper; places on it are millimetres from its top left corner."""

    dice: np.random.Generator
    size: tuple[int, int]
    px: float
    colour: tuple[float, float, float] = (0.2, 0.2, 0.22)
    frames: list[Points] = field(default_factory=list)
    light: Light = field(init=False)

    def __post_init__(self) -> None:
        """Begin with paper of some tone."""
        wide, high = (round(side * self.px) for side in self.size)
        tone = self.dice.uniform(0.86, 0.99) * np.array(
            [1, 0.99, self.dice.uniform(0.9, 1)]
        )
        self.light = np.ones((high, wide, 3), np.float32) * tone.astype(np.float32)

    def line(
        self, points: Points, wide: float, dark: float, press: float = 0.3
    ) -> None:
        """Draw a line of a width in mm whose darkness swells along it."""
        at = np.asarray(points, np.float64) * self.px
        thick = max(1, round(wide * self.px))
        dark *= min(1.0, wide * self.px / thick)
        swell = np.interp(
            np.linspace(0, 4, len(at)), range(5), 1 - press * self.dice.uniform(0, 1, 5)
        )
        cover = np.zeros(self.light.shape[:2], np.uint8)
        x0, y0 = np.maximum(np.floor(at.min(axis=0)).astype(int) - thick - 2, 0)
        x1, y1 = np.ceil(at.max(axis=0)).astype(int) + thick + 3
        part = cover[y0:y1, x0:x1]
        if part.size == 0:
            return
        part = np.ascontiguousarray(part)
        fixed = np.round((at - (x0, y0)) * 16).astype(np.int32)
        for k in range(len(at) - 1):
            tone = int(np.clip(255 * dark * swell[k], 0, 255))
            cv2.line(part, tuple(map(int, fixed[k])), tuple(map(int, fixed[k + 1])), tone,
                     thick, cv2.LINE_AA, 4)  # fmt: skip
        self.cover(part, (x0, y0), self.colour)

    def tint(self, outline: Points, colour: Points, soft: float = 0.4) -> None:
        """Fill an outline with a transparent, blotched colour."""
        at = np.round(np.asarray(outline) * self.px).astype(np.int32)
        pad = int(3 * soft * self.px) + 2
        x0, y0 = np.maximum(at.min(axis=0) - pad, 0)
        x1, y1 = at.max(axis=0) + pad
        part = np.zeros(self.light[y0:y1, x0:x1].shape[:2], np.uint8)
        if part.size == 0:
            return
        cv2.fillPoly(part, [at - (x0, y0)], 255)
        part = cv2.GaussianBlur(part, (0, 0), soft * self.px)
        blot = self.dice.uniform(0.6, 1, (5, 6)).astype(np.float32)
        blot = cv2.resize(blot, part.shape[::-1], interpolation=cv2.INTER_CUBIC)
        self.cover((part * np.clip(blot, 0, 1)).astype(np.uint8), (x0, y0), colour)

    def cover(
        self, part: npt.NDArray[np.uint8], at: Points | tuple[int, int], colour: object
    ) -> None:
        """Lay a colour, by shares of 0..255, over the paper."""
        x0, y0 = at
        share = part[..., None].astype(np.float32) / 255
        under = self.light[y0 : y0 + part.shape[0], x0 : x0 + part.shape[1]]
        under *= 1 - share * (1 - np.asarray(colour, np.float32))

    def script(
        self, at: Points | tuple[float, float], long: float, size: float
    ) -> None:
        """Write joined-up letters along a length, in mm."""
        x = np.arange(0, max(long, size), size * 0.22)
        y = (
            self.dice.uniform(-1, 0.1, len(x))
            * size
            * self.dice.choice([0.5, 1], len(x))
        )
        cuts = np.flatnonzero(self.dice.random(len(x)) < 0.12)
        for word in np.split(np.column_stack([at[0] + x, at[1] + y]), cuts):
            if len(word) > 2:
                self.line(word[:-1], 0.3, 0.7)

    def figure(self, at: Points | tuple[float, float], value: int, size: float) -> None:
        """Write a number, `size` mm high."""
        cover = np.zeros(self.light.shape[:2], np.uint8)
        where = (int(at[0] * self.px), int(at[1] * self.px))
        face = int(
            self.dice.choice([cv2.FONT_HERSHEY_SCRIPT_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX])
        )
        cv2.putText(
            cover, str(value), where, face, size * self.px / 22, 190, 2, cv2.LINE_AA
        )
        self.cover(cover, (0, 0), self.colour)


def ruled(leaf: Leaf, kind: str) -> tuple[float, float]:
    """Print squares or lines; give their pitch, and where they begin."""
    dice = leaf.dice
    pitch = float(dice.choice([4, 5, 5, 5, 6, 7, 8, 10]))
    colour = np.clip(
        np.array(GRIDS[int(dice.integers(len(GRIDS)))]) + dice.uniform(-0.08, 0.05),
        0,
        1,
    )
    wide, high = leaf.size
    edge = dice.uniform(0, 6) if dice.random() < 0.5 else 0.0
    thick = max(1, round(dice.uniform(0.12, 0.35) * leaf.px))
    fifth = dice.random() < 0.3
    for across in (True, False):
        if kind == "lines" and across:
            continue
        for k, at in enumerate(
            np.arange(edge, (wide if across else high) - edge + 0.1, pitch)
        ):
            bold = thick + 1 if fifth and k % 5 == 0 else thick
            first = int(at * leaf.px)
            low, top = (
                int(edge * leaf.px),
                int(((high if across else wide) - edge) * leaf.px),
            )
            rows = leaf.light.transpose(1, 0, 2) if across else leaf.light
            rows[first : first + bold, low:top] = np.minimum(
                rows[first : first + bold, low:top], colour.astype(np.float32)
            )
    return pitch, edge


def clutter(leaf: Leaf) -> None:
    """Leave what lies about: punched holes, a spiral, rings of cups, smudges."""
    dice, high = leaf.dice, leaf.size[1]
    what = str(dice.choice(["none", "none", "holes", "spiral", "cup", "smudge"]))
    if what in ("holes", "spiral"):
        step = 8.5 if what == "spiral" else 80.0
        for y in np.arange(high / 2 % step, high, step):
            at = (int(5 * leaf.px), int(y * leaf.px))
            cv2.circle(leaf.light, at, int((2 if what == "spiral" else 3) * leaf.px),
                       tuple(dice.uniform(0.1, 0.5, 3).tolist()), -1)  # fmt: skip
    if what == "cup":
        middle = dice.uniform(0.1, 0.9, 2) * leaf.size
        turn = np.linspace(0, 6.2, 60)
        reach = dice.uniform(30, 40) + dice.normal(0, 0.4, 60)
        outer = middle + np.column_stack([np.cos(turn), np.sin(turn)]) * reach[:, None]
        inner = middle + (outer - middle) * 0.95
        ring = np.vstack([outer, inner[::-1]])
        leaf.tint(np.clip(ring, 0, leaf.size), np.array([0.8, 0.68, 0.5]))
    if what == "smudge":
        for _ in range(4):
            spot = dice.uniform(0.1, 0.9, 2) * leaf.size + dice.normal(0, 6, (8, 2))
            leaf.tint(np.clip(spot, 0, leaf.size), np.array([0.9, 0.9, 0.9]), 3.0)
