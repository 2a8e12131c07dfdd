"""Whole storyboard sheets of every kind, each with the frames that are on it."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes
from tests.imaging.storyboards import empty, marks
from tests.imaging.storyboards import frames as draw
from tests.imaging.storyboards.frames import Manner
from tests.imaging.storyboards.marks import Page, Points
from tests.imaging.storyboards.shots import Shot, taken

KINDS = ("clean", "phone", "graph", "touching", "rough", "frameless", "none")
OTHERS = ("worn", "bound", "brush", "filled", "mixed", "faint", "spilling", "titled")

PENCILS = ((0.75, 0.3, 0.25), (0.3, 0.5, 0.75), (0.8, 0.5, 0.2), (0.3, 0.55, 0.4))


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
    empty.paper(page, kind)
    if kind == "none":
        empty.drawn(page, str(dice.choice(empty.NOTHING)))
        return page
    plan = _mixed(page) if kind == "mixed" else _plan(page, kind)
    how = _manner(kind, dice)
    page.grain = {"pencil": 0.6, "pen": 0.08}.get(how.tool, 0.25)
    if how.tool == "pen" and dice.random() < 0.3:
        page.hue = (0.12, 0.16, 0.4)
    if how.tool == "pencil" and dice.random() < (0.5 if kind == "faint" else 0.1):
        page.hue = PENCILS[int(dice.integers(len(PENCILS)))]
    if dice.random() < 0.5:
        at = (page.wide * dice.uniform(0.08, 0.4), page.high * 0.035)
        page.words(at, int(dice.integers(8, 28)), 15)
    _drawn(page, plan, how, kind)
    return page


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
    if kind == "faint":
        how.tool, how.wide = "pencil", dice.uniform(0.9, 1.6)
        how.dark = dice.uniform(0.35, 0.55)
    if kind == "spilling":
        how.crossing, how.spilling = 0.7, 0.6
    if dice.random() < 0.15:
        how.empty = float(dice.choice([0.3, 0.7, 1.0]))
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


def _mixed(page: Page) -> Plan:
    """Set spreads and single pages side by side, in rows of one height."""
    dice = page.dice
    across = int(dice.choice([6, 7, 8] if page.wide > page.high else [4, 5, 6]))
    edge = np.array([page.wide, page.high]) * dice.uniform(0.05, 0.08)
    gap = page.wide * dice.uniform(0.014, 0.03)
    one = (page.wide - 2 * edge[0] - gap * (across - 1)) / across
    high = one * dice.uniform(0.8, 1.35)
    down = gap * dice.uniform(1.2, 2.2)
    boxes: list[Points] = []
    y = edge[1]
    while y + high < page.high - edge[1] and len(boxes) < 18:
        x, left = edge[0], across
        while left > 0 and len(boxes) < 20:
            many = 1 if left == 1 or dice.random() < 0.35 else 2
            wide = many * one + (many - 1) * gap
            quad = np.array(
                [[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]]
            )
            boxes.append(quad + dice.normal(0, 2, (4, 2)) + dice.normal(0, 2, 2))
            x, left = x + wide + gap, left - many
        y += high + down
    return Plan(boxes, gap, touching=False)


def _drawn(page: Page, plan: Plan, how: Manner, kind: str) -> None:
    dice = page.dice
    if kind == "titled" or dice.random() < 0.06:
        _title_block(page, plan)
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
            if dice.random() > how.empty:
                draw.small_picture(page, quad, how, colour)
        if where:
            draw.numbered(page, quad, at + 1, where, plan.room)
        if captions:
            draw.captioned(page, quad, plan.room)


def _title_block(page: Page, plan: Plan) -> None:
    """Rule a block for the book's name and the date where the sheet has room."""
    dice = page.dice
    low = max(quad[:, 1].max() for quad in plan.boxes)
    top = min(quad[:, 1].min() for quad in plan.boxes)
    at_foot = page.high - low > top
    room = page.high - low if at_foot else top
    if room < 50:
        return
    high, wide = room * 0.5, page.wide * dice.uniform(0.25, 0.8)
    x = page.wide * 0.95 - wide
    y = low + 0.25 * room if at_foot else 0.25 * room
    block = np.array([[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]])
    draw.drawn_frame(page, block, Manner(wobble=0.5, overshoot=0.5))
    for at in dice.uniform(0.25, 0.75, 2):
        page.stroke(draw.inside(block, np.array([at, at]), np.array([0.0, 1.0])), 1.5)
    page.words((x + 10, y + 0.7 * high), int(wide / 14), min(14.0, high * 0.3))


def _unframed(page: Page, quad: Points) -> None:
    dice = page.dice
    inner = empty.inside_of(quad, 0.0)
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
    draw.small_picture(page, empty.inside_of(quad, 0.06), how, 0.0)


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
        draw.small_picture(page, empty.inside_of(quad, 0.1), Manner(crossing=0.0), 0.3)


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
        shot.vignette = dice.uniform(0.1, 0.5) if dice.random() < 0.5 else 0.0
        shot.cropped = bool(dice.random() < 0.15)
        if shot.cropped:
            shot.lean = 0.02
    return shot
