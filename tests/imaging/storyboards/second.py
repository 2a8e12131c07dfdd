"""Whole sheets by the second hand: the plan, the frames and what is drawn in them."""

from dataclasses import dataclass

import cv2
import numpy as np

from tests.imaging.storyboards.camera import Taking, seen
from tests.imaging.storyboards.desk import PAPERS, Leaf, clutter, ruled
from tests.imaging.storyboards.marks import Points
from tests.imaging.storyboards.sheets import Sheet

EMPTY = ("blank", "graph", "words", "one picture", "table", "portraits", "plan")
TOOLS = {"pencil": (0.5, 0.55, 0.6), "hard": (0.3, 0.35, 0.6), "pen": (0.35, 0.85, 0.1),
         "marker": (1.0, 0.8, 0.15)}  # fmt: skip  width mm, darkness, how it swells


@dataclass
class Way:
    """How the frames of one sheet are drawn."""

    wide: float
    dark: float
    press: float
    by_ruler: bool = True
    tremble: float = 0.2
    over: float = 0.8
    rough: bool = False
    fold: bool = False
    cross: float = 0.1


def second(kind: str, seed: int, most: int = 6000) -> Sheet:
    """Draw one sheet in the second hand, and take it with at most so many pixels a side."""
    dice = np.random.default_rng([2, *kind.encode(), seed])
    leaf = Leaf(dice, PAPERS[int(dice.integers(len(PAPERS)))], 1.0)
    leaf = Leaf(dice, leaf.size, 2600 / max(leaf.size))
    grid = kind == "graph" or (kind in ("none", "phone") and dice.random() < 0.15)
    pitch = ruled(leaf, "squares") if grid else 0.0
    if not grid and dice.random() < 0.08:
        ruled(leaf, "lines")
    clutter(leaf)
    if kind == "none":
        _nothing(leaf, str(dice.choice(EMPTY)))
    else:
        _board(leaf, kind, pitch)
    photo = kind == "phone" or (kind != "clean" and dice.random() < 0.45)
    longest = min(most, int(dice.choice([1200, 1600, 2200, 3000, 4000])))
    how = Taking(photo, longest, blur=dice.uniform(0.4, 1.4) * longest / 2000, noise=dice.uniform(0.5, 6))
    picture, matrix = seen(dice, leaf, how)
    frames = [cv2.perspectiveTransform(quad[None], matrix)[0] for quad in leaf.frames]
    return Sheet(kind, seed, picture, frames)


def _board(leaf: Leaf, kind: str, pitch: float) -> None:
    dice = leaf.dice
    tool = str(dice.choice(list(TOOLS), p=[0.45, 0.15, 0.3, 0.1]))
    wide, dark, press = TOOLS[tool]
    way = Way(wide * dice.uniform(0.7, 1.3), dark * dice.uniform(0.9, 1.1), press)
    way.by_ruler, way.fold = bool(dice.random() < 0.4), bool(dice.random() < 0.4)
    way.tremble, way.over = dice.uniform(0.1, 0.5), dice.uniform(0, 1.6)
    if kind == "rough":
        way.rough, way.by_ruler, way.cross = True, False, 0.4
        way.tremble, way.over = dice.uniform(0.4, 1.0), dice.uniform(0.5, 3.5)
    if tool == "pen" and dice.random() < 0.4:
        leaf.colour = (0.15, 0.2, 0.5)
    boxes = _plan(dice, leaf.size, kind)
    if pitch and dice.random() < 0.6:
        edge = leaf.__dict__["grid"][0]
        boxes = [edge + np.round((box - edge) / pitch) * pitch for box in boxes]
    if kind == "frameless":
        boxes = [box + dice.normal(0, 1.2, (1, 2)) for box in boxes]
    marks = str(dice.choice(["", "above", "inside", "left"]))
    notes = kind != "touching" and dice.random() < 0.4
    room = _room(boxes)
    full = dice.random() < 0.85
    for at, box in enumerate(boxes):
        leaf.frames.append(box)
        if kind == "frameless":
            _bare(leaf, box)
        else:
            _frame(leaf, box, way)
            if full and dice.random() < 0.93:
                _scene(leaf, box, way, float(dice.choice([0, 0.5, 1])))
        if marks and (kind != "touching" or marks == "inside"):
            x, y = box[0]
            place = {"above": (x + 1, y - 1), "inside": (x + 1.5, y + 5.5), "left": (x - 4.5, y + 4)}
            leaf.figure(place[marks], at + 1, float(np.clip(room, 2.2, 4)))
        if notes:
            long = (box[2] - box[3])[0] * dice.uniform(0.3, 0.95)
            leaf.script(box[3] + (1, min(4.0, room)), long, min(2.2, room * 0.5))
        if notes and room > 6 and dice.random() < 0.15:
            x, y = (box[1] + box[2]) / 2
            leaf.line(np.array([[x + 1, y], [x + room, y], [x + room - 2, y - 1.5]]), 0.3, 0.7)
    if dice.random() < 0.5:
        leaf.script((15, 9), dice.uniform(30, 90), 3.5)


def _room(boxes: list[Points]) -> float:
    gaps = [two[0][1] - one[3][1] for one in boxes for two in boxes if two[0][1] > one[3][1]]
    return float(min(gaps, default=4.0))


def _plan(dice: np.random.Generator, size: tuple[int, int], kind: str) -> list[Points]:
    """Divide the leaf into rows; 12 to 20 frames, as large as fits."""
    wide, high = size
    many = int(dice.integers(12, 21))
    aspect = float(dice.choice([0.75, 1.0, 1.4, 1.8, 2.1, 2.6]))
    gap = 0.0 if kind == "touching" else dice.uniform(3, 12)
    down = 0.0 if kind == "touching" else gap * dice.uniform(0.9, 2.2)
    edge = dice.uniform(10, 22, 2)
    inner = np.array(size) - 2 * edge
    best = (0.0, 1, 1)
    for columns in range(2, 7):
        rows = -(-many // columns)
        w = (inner[0] - gap * (columns - 1)) / columns
        h = (inner[1] - down * (rows - 1)) / rows
        best = max(best, (min(w, h * aspect), columns, rows))
    w, columns, rows = best
    h = w / aspect
    if kind == "touching":
        many = columns * rows
    if gap and dice.random() < 0.6:
        gap = min(0.6 * w, (inner[0] - columns * w) / max(1, columns - 1))
        down = min(0.9 * h, (inner[1] - rows * h) / max(1, rows - 1))
    loose = 0.0 if kind == "touching" else min(1.5, 0.12 * min(gap, down))
    boxes: list[Points] = []
    for k in range(min(many, 20)):
        row, column = divmod(k, columns)
        x, y = edge[0] + column * (w + gap), edge[1] + row * (h + down)
        one = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
        if kind == "frameless":
            grow = dice.uniform(0.8, 1.05, 2)
            one = one.mean(axis=0) + (one - one.mean(axis=0)) * grow
        boxes.append(one + dice.normal(0, loose, (1, 2)) + dice.normal(0, loose / 3, (4, 2)))
    return _halved(dice, boxes, gap) if kind == "mixed" else boxes


def _halved(dice: np.random.Generator, boxes: list[Points], gap: float) -> list[Points]:
    """Part some frames into two single pages."""
    out: list[Points] = []
    for box in boxes:
        if len(out) < 18 and dice.random() < 0.3:
            middle = (box[0] + box[1]) / 2, (box[3] + box[2]) / 2
            half = np.array([min(gap, 5.0) / 2, 0])
            out.append(np.array([box[0], middle[0] - half, middle[1] - half, box[3]]))
            out.append(np.array([middle[0] + half, box[1], box[2], middle[1] + half]))
        else:
            out.append(box)
    return out[:20]


def _stroke(leaf: Leaf, start: Points, end: Points, way: Way) -> None:
    """Draw from one place to another, by ruler or by a hand that wanders."""
    dice = leaf.dice
    long = float(np.hypot(*(end - start)))
    along = np.linspace(0, 1, max(6, int(long / 2)))
    off = np.zeros(len(along))
    if not way.by_ruler:
        for wave in (1, 2, 3, 5):
            off += dice.normal(0, way.tremble / wave) * np.sin(np.pi * wave * along + dice.uniform(-0.4, 0.4))
        off += dice.normal(0, 0.03, len(along))
    side = np.array([start[1] - end[1], end[0] - start[0]]) / max(long, 1e-6)
    leaf.line(start + np.outer(along, end - start) + np.outer(off, side), way.wide, way.dark, way.press)


def _frame(leaf: Leaf, box: Points, way: Way) -> None:
    dice = leaf.dice
    open_side = int(dice.integers(4)) if way.rough and dice.random() < 0.35 else -1
    for k in range(4):
        start, end = box[k], box[(k + 1) % 4]
        step = (end - start) / np.hypot(*(end - start))
        before, after = dice.normal(way.over * 0.4, way.over * 0.6, 2)
        if k == open_side:
            if dice.random() < 0.4:
                _stroke(leaf, start, start + (end - start) * dice.uniform(0.2, 0.5), way)
            continue
        if way.rough and dice.random() < 0.3:
            _stroke(leaf, start - step * before + dice.normal(0, 0.6, 2), end + step * after + dice.normal(0, 0.6, 2), way)
        if way.rough and dice.random() < 0.3:
            at = dice.uniform(0.2, 0.8)
            _stroke(leaf, start - step * before, start + (end - start) * (at - 0.05), way)
            start, before = start + (end - start) * (at + 0.05), 0.0
        _stroke(leaf, start - step * before, end + step * after, way)


def _in(box: Points, u: Points | float, v: Points | float) -> Points:
    u, v = np.broadcast_arrays(np.atleast_1d(u), np.atleast_1d(v))
    top = box[0] + np.outer(u, box[1] - box[0])
    return np.asarray(top + (box[3] + np.outer(u, box[2] - box[3]) - top) * v[:, None])


def _scene(leaf: Leaf, box: Points, way: Way, colour: float) -> None:
    """Draw people, houses, hills, words and shade, loosely."""
    dice = leaf.dice
    far = 1.06 if dice.random() < way.cross else 0.97
    if dice.random() < 0.6:
        u = np.linspace(1 - far, far, 15)
        ground = np.clip(dice.uniform(0.4, 0.8) + np.cumsum(dice.normal(0, 0.015, 15)), 0.1, 0.95)
        leaf.line(_in(box, u, ground), 0.35, 0.6)
        if dice.random() < colour:
            inner = np.clip(u, 0.02, 0.98)
            shape = np.vstack([_in(box, inner, ground), _in(box, [0.98, 0.02], [0.97, 0.97])])
            leaf.tint(shape, dice.uniform(0.35, 0.95, 3))
    for _ in range(int(dice.integers(1, 4))):
        at = dice.uniform(0.12, far - 0.12, 2)
        reach = dice.uniform(0.04, 0.16)
        turn = np.linspace(0, 6.3, 14)
        head = _in(box, at[0] + reach * 0.5 * np.cos(turn), at[1] + reach * np.sin(turn))
        leaf.line(head + dice.normal(0, 0.25, head.shape), 0.35, 0.7)
        if dice.random() < 0.3:
            leaf.tint(head, dice.uniform(0.1, 0.9, 3))
        body = _in(box, at[0] + dice.normal(0, 0.03, 5), np.minimum(at[1] + reach * np.arange(1, 6), far))
        leaf.line(body, 0.35, 0.7)
    if dice.random() < 0.3:
        a, b, c = dice.uniform([0.1, 0.2, 0.15], [0.55, 0.5, 0.35])
        house = _in(box, [a, a, a + c / 2, a + c, a + c, a], [b + c, b, b - 0.15, b, b + c, b + c])
        leaf.line(house, 0.35, 0.7)
    if dice.random() < 0.25:
        a, b = dice.uniform(0.05, 0.5, 2)
        for k in np.linspace(0, 0.35, 14):
            leaf.line(_in(box, [a + k, a + k - 0.08], [b, b + 0.4]), 0.3, 0.5)
    if dice.random() < 0.15:
        leaf.script(_in(box, 0.1, 0.9)[0], (box[1] - box[0])[0] * 0.6, 1.5)
    if way.fold:
        _stroke(leaf, *_in(box, [0.5, 0.5], [0, 1]), Way(way.wide * 0.8, way.dark * 0.85, way.press))


def _bare(leaf: Leaf, box: Points) -> None:
    """Draw or wash a picture that fills its place and has no frame."""
    dice = leaf.dice
    if dice.random() < 0.6:
        edge = np.vstack([_in(box, u, v) for u, v in (
            (np.linspace(0, 1, 9), np.zeros(9)), (np.ones(9), np.linspace(0, 1, 9)),
            (np.linspace(1, 0, 9), np.ones(9)), (np.zeros(9), np.linspace(1, 0, 9)))])  # fmt: skip
        leaf.tint(edge + dice.normal(0, 0.35, edge.shape), dice.uniform(0.5, 0.92, 3), 0.5)
    else:
        for v in (dice.uniform(0, 0.12), dice.uniform(0.5, 0.8), dice.uniform(0.94, 1)):
            leaf.line(_in(box, np.linspace(0, 1, 12), v + dice.normal(0, 0.015, 12)), 0.4, 0.6)
        for _ in range(10):
            u = dice.uniform(0, 1)
            leaf.line(_in(box, u + dice.normal(0, 0.01, 6), np.linspace(0.05, dice.uniform(0.5, 1), 6)), 0.4, 0.6)
    _scene(leaf, box, Way(0.4, 0.6, 0.4, cross=0.0), 0.5)


def _nothing(leaf: Leaf, what: str) -> None:
    """Fill the leaf with what is no storyboard."""
    dice, (wide, high) = leaf.dice, leaf.size
    whole = np.array([[15, 15], [wide - 15, 15], [wide - 15, high - 15], [15, high - 15.0]])
    if what == "words":
        for y in np.arange(20, high - 15, 8.0):
            leaf.script((18, y), (wide - 36) * dice.uniform(0.3, 1), 2.6)
    if what in ("one picture", "plan"):
        way = Way(0.5, 0.7, 0.4, rough=what == "plan", by_ruler=what == "plan")
        _frame(leaf, whole, way)
        for _ in range(4):
            _scene(leaf, whole, way, 0.6)
    if what == "plan":
        for _ in range(4):
            at = dice.uniform(0.1, 0.5, 2)
            to = at + dice.uniform(0.1, 0.4, 2)
            _frame(leaf, _in(whole, [at[0], to[0], to[0], at[0]], [at[1], at[1], to[1], to[1]]), way)
    if what == "table":
        for y in np.arange(20, high - 15, dice.uniform(6, 9)):
            leaf.line(np.array([[15, y], [wide - 15.0, y]]), 0.25, 0.8)
        for x in (15.0, 60.0, 90.0, wide - 15.0):
            leaf.line(np.array([[x, 20], [x, high - 16.0]]), 0.25, 0.8)
    if what == "portraits":
        for _ in range(9):
            at = dice.uniform(0.15, 0.85, 2)
            turn = np.linspace(0, 6.3, 30)
            leaf.line(_in(whole, at[0] + 0.07 * np.cos(turn), at[1] + 0.12 * np.sin(turn)), 0.5, 0.7)
            leaf.script(_in(whole, at[0], at[1] + 0.16)[0], 20, 2.5)
