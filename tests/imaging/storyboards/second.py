"""Whole sheets by the second hand: tool, plan, numbers and words."""

import cv2
import numpy as np

from tests.imaging.storyboards.camera import Taking, seen
from tests.imaging.storyboards.desk import PAPERS, Leaf, clutter, ruled
from tests.imaging.storyboards.marks import Points
from tests.imaging.storyboards.pictures import Way, bare, frame, scene, within
from tests.imaging.storyboards.sheets import Sheet

EMPTY = ("blank", "graph", "words", "one picture", "table", "portraits", "plan")
TOOLS = {
    "pencil": (0.5, 0.55, 0.6),
    "hard": (0.3, 0.35, 0.6),
    "pen": (0.35, 0.85, 0.1),
    "marker": (1.0, 0.8, 0.15),
}  # fmt: skip  width mm, darkness, how it swells


def second(kind: str, seed: int, most: int = 6000) -> Sheet:
    """Draw one sheet in the second hand, and take it with at most so many pixels a side."""
    dice = np.random.default_rng([2, *kind.encode(), seed])
    leaf = Leaf(dice, PAPERS[int(dice.integers(len(PAPERS)))], 1.0)
    leaf = Leaf(dice, leaf.size, 2600 / max(leaf.size))
    grid = kind == "graph" or (kind in ("none", "phone") and dice.random() < 0.15)
    printed = ruled(leaf, "squares") if grid else (0.0, 0.0)
    if not grid and dice.random() < 0.08:
        ruled(leaf, "lines")
    clutter(leaf)
    if kind == "none":
        _nothing(leaf, str(dice.choice(EMPTY)))
    else:
        _board(leaf, kind, printed)
    photo = kind == "phone" or (kind != "clean" and dice.random() < 0.45)
    longest = min(most, int(dice.choice([1200, 1600, 2200, 3000, 4000])))
    how = Taking(
        photo,
        longest,
        blur=dice.uniform(0.4, 1.4) * longest / 2000,
        noise=dice.uniform(0.5, 6),
    )
    picture, matrix = seen(dice, leaf, how)
    frames = [cv2.perspectiveTransform(quad[None], matrix)[0] for quad in leaf.frames]
    return Sheet(kind, seed, picture, frames)


def _way(leaf: Leaf, kind: str) -> Way:
    """Choose a tool and how steady the hand is."""
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
    return way


def _board(leaf: Leaf, kind: str, printed: tuple[float, float]) -> None:
    dice, (pitch, edge) = leaf.dice, printed
    way = _way(leaf, kind)
    boxes = _plan(dice, leaf.size, kind)
    if pitch and dice.random() < 0.6:
        boxes = [edge + np.round((box - edge) / pitch) * pitch for box in boxes]
    if kind == "frameless":
        boxes = [box + dice.normal(0, 1.2, (1, 2)) for box in boxes]
    marks = str(dice.choice(["", "above", "inside", "left"]))
    if kind == "touching" and marks != "inside":
        marks = ""
    notes = kind != "touching" and dice.random() < 0.4
    full = dice.random() < 0.85
    for at, box in enumerate(boxes):
        leaf.frames.append(box)
        if kind == "frameless":
            bare(leaf, box)
        else:
            frame(leaf, box, way)
            if full and dice.random() < 0.93:
                scene(leaf, box, way, float(dice.choice([0, 0.5, 1])))
        _labelled(leaf, box, (at + 1, marks), _room(boxes), notes=notes)
    if dice.random() < 0.5:
        leaf.script((15, 9), dice.uniform(30, 90), 3.5)


def _labelled(
    leaf: Leaf, box: Points, mark: tuple[int, str], room: float, *, notes: bool
) -> None:
    """Number a frame, write under it, and point from it to the next."""
    dice, (x, y) = leaf.dice, box[0]
    place = {
        "above": (x + 1, y - 1),
        "inside": (x + 1.5, y + 5.5),
        "left": (x - 4.5, y + 4),
    }
    if mark[1]:
        leaf.figure(place[mark[1]], mark[0], float(np.clip(room, 2.2, 4)))
    if not notes:
        return
    long = (box[2] - box[3])[0] * dice.uniform(0.3, 0.95)
    leaf.script(box[3] + (1, min(4.0, room)), long, min(2.2, room * 0.5))
    if room > 6 and dice.random() < 0.15:
        x, y = (box[1] + box[2]) / 2
        way = np.array([[x + 1, y], [x + room, y], [x + room - 2, y - 1.5]])
        leaf.line(way, 0.3, 0.7)


def _room(boxes: list[Points]) -> float:
    gaps = [
        two[0][1] - one[3][1] for one in boxes for two in boxes if two[0][1] > one[3][1]
    ]
    return float(min(gaps, default=4.0))


def _plan(dice: np.random.Generator, size: tuple[int, int], kind: str) -> list[Points]:
    """Divide the leaf into rows; 12 to 20 frames, as large as fits."""
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
        boxes.append(
            one + dice.normal(0, loose, (1, 2)) + dice.normal(0, loose / 3, (4, 2))
        )
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


def _nothing(leaf: Leaf, what: str) -> None:
    """Fill the leaf with what is no storyboard."""
    dice, (wide, high) = leaf.dice, leaf.size
    whole = np.array(
        [[15, 15], [wide - 15, 15], [wide - 15, high - 15], [15, high - 15.0]]
    )
    if what == "words":
        for y in np.arange(20, high - 15, 8.0):
            leaf.script((18, y), (wide - 36) * dice.uniform(0.3, 1), 2.6)
    if what in ("one picture", "plan"):
        _large(leaf, whole, plan=what == "plan")
    if what == "table":
        for y in np.arange(20, high - 15, dice.uniform(6, 9)):
            leaf.line(np.array([[15, y], [wide - 15.0, y]]), 0.25, 0.8)
        for x in (15.0, 60.0, 90.0, wide - 15.0):
            leaf.line(np.array([[x, 20], [x, high - 16.0]]), 0.25, 0.8)
    if what == "portraits":
        _faces(leaf, whole)


def _faces(leaf: Leaf, whole: Points) -> None:
    dice = leaf.dice
    for _ in range(9):
        x, y = dice.uniform(0.15, 0.85, 2)
        turn = np.linspace(0, 6.3, 30)
        around = within(whole, x + 0.07 * np.cos(turn), y + 0.12 * np.sin(turn))
        leaf.line(around, 0.5, 0.7)
        leaf.script(within(whole, x, y + 0.16)[0], 20, 2.5)


def _large(leaf: Leaf, whole: Points, *, plan: bool) -> None:
    """Draw one picture over the whole leaf, or the plan of a house."""
    dice, way = leaf.dice, Way(0.5, 0.7, 0.4, rough=plan, by_ruler=plan)
    frame(leaf, whole, way)
    for _ in range(4):
        scene(leaf, whole, way, 0.6)
    for _ in range(4 if plan else 0):
        (x0, y0), more = dice.uniform(0.1, 0.5, 2), dice.uniform(0.1, 0.4, 2)
        x1, y1 = x0 + more[0], y0 + more[1]
        frame(leaf, within(whole, [x0, x1, x1, x0], [y0, y0, y1, y1]), way)
