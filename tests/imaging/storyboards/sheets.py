"""Whole storyboard sheets of every kind, each with the frames that are on it."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes
from tests.imaging.storyboards import frames as draw
from tests.imaging.storyboards import marks
from tests.imaging.storyboards.frames import Manner
from tests.imaging.storyboards.marks import Page, Points
from tests.imaging.storyboards.shots import Shot, taken

KINDS = ("clean", "phone", "graph", "touching", "rough", "frameless", "none")
OTHERS = ("worn", "bound", "brush", "filled")  # never looked at while it was tuned
NOTHING = ("text", "drawing", "blank", "plants", "painting", "list")


@dataclass
class Sheet:
    """A picture of a sheet and its frames, in reading order, in its pixels."""

    kind: str
    seed: int
    picture: Bytes
    frames: list[Points]


@dataclass
class Plan:
    """How the frames are set out on a page."""

    boxes: list[Points]
    room: float
    touching: bool


def sheet(kind: str, seed: int, most: int = 6000) -> Sheet:
    """Draw one sheet, and scan or photograph it with at most so many pixels a side."""
    dice = np.random.default_rng([*kind.encode(), seed])
    page, shot = _page(kind, dice), _shot(kind, dice, most)
    picture, matrix = taken(dice, page.finished(), shot)
    moved = [
        cv2.perspectiveTransform(quad[None].astype(np.float64), matrix)[0]
        for quad in page.frames
    ]
    return Sheet(kind, seed, picture, moved)


def _page(kind: str, dice: np.random.Generator) -> Page:
    tall = dice.random() < 0.35
    wide, high = (1560, 2200) if tall else (2200, 1560)
    page = Page(dice, wide, high)
    page.bare = bool(dice.random() < 0.35)
    _paper(page, kind)
    if kind == "none":
        _nothing(page, str(dice.choice(NOTHING)))
        return page
    plan = _plan(page, kind)
    how = _manner(kind, dice)
    page.grain = {"pencil": 0.6, "pen": 0.08}.get(how.tool, 0.25)
    if how.tool == "pen" and dice.random() < 0.3:
        page.hue = (0.12, 0.16, 0.4)
    if dice.random() < 0.5:
        at = (page.wide * dice.uniform(0.08, 0.4), page.high * 0.035)
        page.words(at, int(dice.integers(8, 28)), 15)
    _drawn(page, plan, how, kind)
    return page


def _paper(page: Page, kind: str) -> None:
    dice = page.dice
    tone = dice.uniform(0.9, 1.0) * np.array([1, 0.995, dice.uniform(0.93, 1)])
    if kind in ("worn", "brush") and dice.random() < 0.6:
        tone = np.array([[0.76, 0.63, 0.47], [0.7, 0.7, 0.69]][int(dice.integers(2))])
    page.light *= tone.astype(np.float32)
    if kind == "graph":
        marks.ruled(page, "squares")
    elif kind == "bound":
        marks.ruled(page, str(dice.choice(["lines", "dots", "squares"])))
    elif kind == "none" and dice.random() < 0.3:
        marks.ruled(page, str(dice.choice(["squares", "lines"])))
    if kind == "worn" or dice.random() < 0.08:
        marks.stained(page)
    if kind == "worn" and dice.random() < 0.6:
        marks.taped(page)
    if kind == "bound":
        marks.spiral(page)


def _manner(kind: str, dice: np.random.Generator) -> Manner:
    tool = str(dice.choice(["pencil", "pen", "brush"], p=[0.5, 0.4, 0.1]))
    how = Manner(tool=tool, gutter=bool(dice.random() < 0.35))
    how.wide = dice.uniform(1.6, 3.6) if tool != "brush" else dice.uniform(3, 6)
    how.dark = dice.uniform(0.5, 0.75) if tool == "pencil" else dice.uniform(0.75, 1)
    how.wobble = dice.uniform(0.8, 3.0)
    how.overshoot = dice.uniform(0, 7)
    how.double = 0.5 if dice.random() < 0.2 else 0.0
    how.gaps = 0.25 if dice.random() < 0.25 else 0.0
    how.round_corners = bool(dice.random() < 0.08)
    if kind == "rough":
        how.wobble = dice.uniform(2.0, 5.0)
        how.only_corners = bool(dice.random() < 0.2)
        how.open_sides = dice.uniform(0.2, 0.7)
        how.gaps = dice.uniform(0.2, 0.6)
        how.overshoot = dice.uniform(4, 16)
    if kind == "brush":
        how.tool, how.wide, how.dark = "brush", dice.uniform(4, 8), 0.9
    if kind == "filled":
        how.filled, how.gutter = True, False
        how.tool = "none" if dice.random() < 0.6 else "pencil"
    return how


def _plan(page: Page, kind: str) -> Plan:
    """Set frames in rows: spreads or single pages, sometimes a lone first and last."""
    dice = page.dice
    tall = page.high > page.wide
    rows, columns = [(4, 3), (5, 3), (6, 3), (5, 4), (4, 4), (6, 2), (7, 2)][
        int(dice.integers(7))
    ]
    if not tall:
        rows, columns = [(4, 3), (4, 4), (3, 4), (3, 5), (4, 5), (5, 4), (3, 6)][
            int(dice.integers(7))
        ]
    shape = dice.uniform(1.5, 2.5) if dice.random() < 0.7 else dice.uniform(0.7, 1.35)
    edge = np.array([page.wide, page.high]) * dice.uniform(0.05, 0.08)
    gap = page.wide * dice.uniform(0.018, 0.05)
    down = gap * dice.uniform(1.0, 1.9)
    touching = kind == "touching"
    if touching:
        gap = down = 0.0
    inner = np.array([page.wide, page.high]) - 2 * edge
    wide = (inner[0] - gap * (columns - 1)) / columns
    high = (inner[1] - down * (rows - 1)) / rows
    if wide / high > shape:
        wide = high * shape
    else:
        high = wide / shape
    if not touching and dice.random() < 0.5:
        gap = (inner[0] - wide * columns) / max(1, columns - 1)
        gap = min(gap, 0.5 * wide)
    boxes = _rows(dice, (rows, columns), edge, (wide, high, gap, down), touching)
    return Plan(boxes, min(gap, down) if not touching else 14.0, touching)


def _rows(
    dice: np.random.Generator,
    many: tuple[int, int],
    edge: Points,
    size: tuple[float, float, float, float],
    touching: bool,  # noqa: FBT001
) -> list[Points]:
    wide, high, gap, down = size
    rows, columns = many
    lone = not touching and dice.random() < 0.25 and wide / high > 1.5
    short = dice.random() < 0.25
    boxes: list[Points] = []
    slip = min(gap, down) * 0.1
    for row in range(rows):
        across = columns
        if short and row == rows - 1:
            across = max(1, columns - int(dice.integers(1, 3)))
        for column in range(across):
            x = edge[0] + column * (wide + gap)
            y = edge[1] + row * (high + down)
            corners = np.array([[x, y], [x + wide, y], [x + wide, y + high],
                                [x, y + high]])  # fmt: skip
            first = row == 0 and column == 0
            last = row == rows - 1 and column == across - 1
            if lone and first:
                corners[[0, 3], 0] += wide / 2
            if lone and last:
                corners[[1, 2], 0] -= wide / 2
            corners += dice.normal(0, slip, 2)
            if not touching:
                corners += dice.normal(0, min(3.0, slip), (4, 2))
            boxes.append(corners)
    return boxes[:20] if len(boxes) > 20 else boxes


def _drawn(page: Page, plan: Plan, how: Manner, kind: str) -> None:
    dice = page.dice
    where = str(dice.choice(["", "inside", "above", "beside", "under", "cornering"]))
    captions = dice.random() < 0.3 and not plan.touching
    colour = dice.choice([0.0, 0.4, 0.9])
    if plan.touching and where:
        where = "inside"
    for at, quad in enumerate(plan.boxes):
        page.frames.append(quad)
        if kind == "frameless":
            _unframed(page, quad)
        else:
            draw.drawn_frame(page, quad, how)
            if dice.random() < 0.93:
                draw.small_picture(page, quad, how, colour)
        if where:
            draw.numbered(page, quad, at + 1, where, plan.room)
        if captions:
            draw.captioned(page, quad, plan.room)


def _unframed(page: Page, quad: Points) -> None:
    dice = page.dice
    inner = inside_of(quad, 0.0)
    if page.bare:
        _sketched(page, quad)
        return
    edge = [marks.wobbled(dice, inner[k], inner[(k + 1) % 4], 4.0) for k in range(4)]
    split = dice.uniform(0.35, 0.7)
    line = draw.inside(quad, np.linspace(0, 1, 12), np.full(12, split))
    tints = dice.uniform(0.45, 0.9, (2, 3))
    page.wash(np.vstack([edge[0], line[::-1]]), tuple(tints[0]), 3.0)
    page.wash(np.vstack([line, edge[2]]), tuple(tints[1]), 3.0)
    how = Manner(crossing=0.0)
    draw.small_picture(page, inside_of(quad, 0.06), how, 0.0)


def _sketched(page: Page, quad: Points) -> None:
    """Draw a scene in pencil alone that reaches to where its frame would be."""
    dice = page.dice
    for level in dice.uniform([0.3, 0.88], [0.8, 0.99]):
        u = np.linspace(0, 1, 20)
        wave = dice.uniform(0, 0.06) * np.sin(u * 5 + dice.uniform(0, 6))
        page.stroke(draw.inside(quad, u, np.clip(level + wave, 0, 1)), 2, 0.7)
    for _ in range(int(dice.integers(3, 7))):
        at, tip = dice.uniform(0.02, 0.98), dice.uniform(0.0, 0.12)
        lean = at + dice.normal(0, 0.02, 8)
        v = np.linspace(tip, dice.uniform(0.6, 1), 8)
        page.stroke(draw.inside(quad, np.clip(lean, 0, 1), v), 2, 0.7)
    for _ in range(3):
        draw.small_picture(page, inside_of(quad, 0.1), Manner(crossing=0.0), 0.3)


def inside_of(quad: Points, by: float) -> Points:
    """Shrink a frame towards its middle."""
    return np.asarray(quad + (quad.mean(axis=0) - quad) * by, np.float64)


def _nothing(page: Page, what: str) -> None:
    dice = page.dice
    whole = np.array([[0.08, 0.08], [0.92, 0.08], [0.92, 0.92], [0.08, 0.92]])
    quad = whole * (page.wide, page.high)
    if what in ("text", "list"):
        _written(page, quad, what)
    elif what in ("drawing", "painting"):
        how = Manner(crossing=0.4)
        if what == "painting" or dice.random() < 0.4:
            draw.drawn_frame(page, quad, Manner())
        for _ in range(6 if what == "painting" else 2):
            draw.small_picture(page, quad, how, 1.0 if what == "painting" else 0.2)
    elif what == "plants":
        _grown(page)


def _written(page: Page, quad: Points, what: str) -> None:
    """Cover the page with lines of words."""
    dice = page.dice
    size = dice.uniform(9, 16)
    for y in np.arange(quad[0][1], quad[2][1], size * 2.6):
        if dice.random() < 0.12:
            continue
        many = int((quad[1][0] - quad[0][0]) / size / 0.62)
        many = many // 3 if what == "list" else int(many * dice.uniform(0.6, 1))
        page.words((quad[0][0], float(y)), many, size)


def _grown(page: Page) -> None:
    """Fill the page with stalks."""
    dice = page.dice
    for _ in range(260):
        start = dice.uniform(0, 1, 2) * (page.wide, page.high)
        way = np.cumsum(dice.normal((0, -9), 14, (18, 2)), axis=0)
        page.stroke(start + way, dice.uniform(2, 9), dice.uniform(0.3, 0.9))


def _shot(kind: str, dice: np.random.Generator, most: int) -> Shot:
    longest = int(dice.choice([1000, 1400, 2000, 2600, 3400, 6000],
                              p=[0.1, 0.2, 0.35, 0.2, 0.13, 0.02]))  # fmt: skip
    longest = min(longest, most)
    shot = Shot(longest, turn=dice.uniform(0, 2.5), quality=int(dice.integers(60, 95)))
    shot.noise = dice.uniform(0.5, 3)
    phone = kind == "phone" or (kind != "clean" and dice.random() < 0.4)
    if phone:
        shot.phone = True
        shot.table = str(dice.choice(["plain", "wood", "cloth", "stone"]))
        shot.lean, shot.shade = dice.uniform(0.02, 0.09), dice.uniform(0.1, 0.55)
        shot.blur = dice.uniform(0.5, 1.3) * longest / 1800
        shot.noise, shot.turn = dice.uniform(1, 5), dice.uniform(0, 5)
        shot.cropped = bool(dice.random() < 0.15)
        if shot.cropped:
            shot.lean = 0.02
    return shot
