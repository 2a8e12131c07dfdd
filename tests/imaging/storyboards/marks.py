"""A page of paper and what is drawn on it: strokes, washes, words, rulings."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
Light = npt.NDArray[np.float32]


@dataclass
class Page:
    """Paper as RGB light of 0..1, and pencil or ink as darkness of 0..255."""

    dice: np.random.Generator
    wide: int
    high: int
    light: Light = field(init=False)
    ink: npt.NDArray[np.uint8] = field(init=False)
    hue: tuple[float, float, float] = (0.2, 0.2, 0.22)
    grain: float = 0.5
    bare: bool = False
    frames: list[Points] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin with white paper."""
        self.light = np.ones((self.high, self.wide, 3), np.float32)
        self.ink = np.zeros((self.high, self.wide), np.uint8)

    def stroke(self, points: Points, wide: float = 2.0, dark: float = 0.7) -> None:
        """Draw a line; where strokes cross the darker stays."""
        pts = np.asarray(points, np.float64)
        pad = int(wide) + 3
        x0, y0 = np.floor(pts.min(axis=0)).astype(int) - pad
        x1, y1 = np.ceil(pts.max(axis=0)).astype(int) + pad
        x0, y0 = max(x0, 0), max(y0, 0)
        x1, y1 = min(x1, self.wide), min(y1, self.high)
        if x1 <= x0 or y1 <= y0:
            return
        part = np.zeros((y1 - y0, x1 - x0), np.uint8)
        fixed = np.round((pts - (x0, y0)) * 16).astype(np.int32)
        thick = max(1, round(wide))
        shade = int(255 * min(1.0, dark * min(1.0, wide)))
        cv2.polylines(part, [fixed], False, shade, thick, cv2.LINE_AA, 4)  # noqa: FBT003
        under = self.ink[y0:y1, x0:x1]
        np.maximum(under, part, out=under)

    def wash(
        self, outline: Points, colour: tuple[float, float, float], soft: float = 2.0
    ) -> None:
        """Lay a transparent colour inside an outline."""
        pts = np.asarray(outline, np.float64)
        pad = int(3 * soft) + 2
        x0, y0 = np.maximum(np.floor(pts.min(axis=0)).astype(int) - pad, 0)
        top = np.ceil(pts.max(axis=0)).astype(int) + pad
        x1, y1 = min(top[0], self.wide), min(top[1], self.high)
        if x1 <= x0 + 2 or y1 <= y0 + 2:
            return
        mask = np.zeros((y1 - y0, x1 - x0), np.uint8)
        cv2.fillPoly(mask, [np.round(pts - (x0, y0)).astype(np.int32)], 255)
        cover = cv2.GaussianBlur(mask, (0, 0), soft).astype(np.float32) / 255
        mottle = cv2.resize(
            self.dice.normal(1, 0.12, (9, 9)).astype(np.float32),
            (x1 - x0, y1 - y0),
            interpolation=cv2.INTER_CUBIC,
        )
        share = (cover * np.clip(mottle, 0.6, 1.3))[..., None]
        tint = np.asarray(colour, np.float32)
        self.light[y0:y1, x0:x1] *= 1 - share * (1 - tint)

    def words(self, at: tuple[float, float], letters: int, size: float) -> None:
        """Scribble something that looks like handwriting."""
        x, y = at
        for _ in range(letters):
            if self.dice.random() < 0.18:
                x += size * 0.6
                continue
            steps = np.linspace(0, 1, 6)
            high = size * (1.5 if self.dice.random() < 0.25 else 0.8)
            up = self.dice.uniform(0, high, 6)
            self.stroke(np.column_stack([x + steps * size * 0.55, y - up]), 1.6, 0.7)
            x += size * 0.62

    def number(self, at: tuple[float, float], value: int, size: float) -> None:
        """Write a number."""
        cv2.putText(
            self.ink,
            str(value),
            (int(at[0]), int(at[1])),
            int(self.dice.choice([cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_PLAIN])),
            size / 24,
            180,
            max(1, round(size / 14)),
            cv2.LINE_AA,
        )

    def finished(self) -> Light:
        """Give the page as RGB light of 0..1."""
        tooth = self.dice.standard_normal((self.high, self.wide), dtype=np.float32)
        tooth = cv2.GaussianBlur(tooth, (0, 0), 1.0) * 2
        share = self.ink.astype(np.float32) / 255
        share *= np.clip(1 - self.grain * np.clip(tooth + 0.3, 0, 1.3), 0.1, 1)
        hue = np.asarray(self.hue, np.float32)
        out = self.light * (1 - share[..., None] * (1 - hue))
        out *= (1 + 0.006 * tooth)[..., None]
        return np.clip(out, 0, 1)


def wobbled(
    dice: np.random.Generator, start: Points, end: Points, amount: float
) -> Points:
    """Give a line drawn by hand from one place to another: bowed and trembling."""
    far = float(np.hypot(*(end - start)))
    many = max(5, int(far / 12))
    along = np.linspace(0, 1, many)
    bow = dice.normal(0, amount) * np.sin(np.pi * along)
    slow = np.interp(along, np.linspace(0, 1, 6), dice.normal(0, amount * 0.5, 6))
    ends = np.sin(np.pi * along) ** 0.5
    off = (bow + slow * ends) + dice.normal(0, amount * 0.08, many)
    way = (end - start) / max(far, 1e-6)
    across = np.array([-way[1], way[0]])
    return start + along[:, None] * (end - start) + off[:, None] * across


def ruled(page: Page, kind: str) -> None:
    """Print squares, lines or dots on the paper."""
    dice = page.dice
    step = page.wide / dice.uniform(42, 62) if kind != "lines" else page.wide / 36
    blue = dice.random() < 0.6
    tint = np.array([0.62, 0.74, 0.88] if blue else [0.78, 0.78, 0.78], np.float32)
    tint += dice.uniform(-0.06, 0.06)
    start = dice.uniform(0, step, 2)
    rows = np.arange(start[1], page.high, step).round().astype(int)
    columns = np.arange(start[0], page.wide, step).round().astype(int)
    rows, columns = rows[rows < page.high - 2], columns[columns < page.wide - 2]
    thick = 1 + int(dice.random() < 0.6)
    if kind == "dots":
        for row in rows:
            for k in range(3):
                for m in range(3):
                    page.light[row + k - 1, np.clip(columns + m, 0, page.wide - 1)] = (
                        tint * 0.9
                    )
        return
    for k in range(thick):
        page.light[rows + k] = tint
        if kind == "squares":
            page.light[:, columns + k] = np.minimum(page.light[:, columns + k], tint)


def stained(page: Page) -> None:
    """Leave a ring of coffee."""
    dice = page.dice
    middle = dice.uniform(0.15, 0.85, 2) * (page.wide, page.high)
    reach = page.wide * dice.uniform(0.04, 0.09)
    y, x = np.ogrid[: page.high, : page.wide]
    far = np.hypot(x - middle[0], y - middle[1])
    ring = np.exp(-(((far - reach) / 6) ** 2)) * 0.35 + (far < reach) * 0.06
    tint = np.array([0.62, 0.45, 0.28], np.float32)
    page.light *= 1 - ring[..., None].astype(np.float32) * (1 - tint)


def taped(page: Page) -> None:
    """Stick strips of tape over the corners."""
    dice = page.dice
    for corner in ((0, 0), (page.wide, 0), (page.wide, page.high)):
        turn = dice.uniform(0.4, 1.1)
        long, wide = page.wide * 0.09, page.wide * 0.025
        way = np.array([np.cos(turn), np.sin(turn)])
        side = np.array([-way[1], way[0]])
        at = np.array(corner, np.float64)
        box = [at + a * long * way + b * wide * side for a, b in
               ((-1, -1), (1, -1), (1, 1), (-1, 1))]  # fmt: skip
        page.wash(np.array(box), (0.93, 0.9, 0.78), 1.0)


def spiral(page: Page) -> None:
    """Punch the holes of a spiral binding along one edge."""
    dice = page.dice
    along_top = dice.random() < 0.5
    step = page.wide / 40
    for at in np.arange(step, page.wide if along_top else page.high, step):
        middle = (int(at), int(step * 0.5)) if along_top else (int(step * 0.5), int(at))
        cv2.circle(page.light, middle, int(step * 0.26), (0.25, 0.25, 0.27), -1)
