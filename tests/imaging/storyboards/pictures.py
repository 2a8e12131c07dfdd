"""Frames by the second hand, and the small pictures in them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.imaging.storyboards.desk import Leaf
from tests.imaging.storyboards.marks import Points


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


def stroke(leaf: Leaf, start: Points, end: Points, way: Way) -> None:
    """Draw from one place to another, by ruler or by a hand that wanders."""
    dice = leaf.dice
    long = float(np.hypot(*(end - start)))
    along = np.linspace(0, 1, max(6, int(long / 2)))
    off = np.zeros(len(along))
    if not way.by_ruler:
        for wave in (1, 2, 3, 5):
            off += dice.normal(0, way.tremble / wave) * np.sin(
                np.pi * wave * along + dice.uniform(-0.4, 0.4)
            )
        off += dice.normal(0, 0.03, len(along))
    side = np.array([start[1] - end[1], end[0] - start[0]]) / max(long, 1e-6)
    leaf.line(
        start + np.outer(along, end - start) + np.outer(off, side),
        way.wide,
        way.dark,
        way.press,
    )


def frame(leaf: Leaf, box: Points, way: Way) -> None:
    """Draw the four sides, or three of them."""
    dice = leaf.dice
    open_side = int(dice.integers(4)) if way.rough and dice.random() < 0.35 else -1
    for k in range(4):
        start, end = box[k], box[(k + 1) % 4]
        step = (end - start) / np.hypot(*(end - start))
        before, after = dice.normal(way.over * 0.4, way.over * 0.6, 2)
        if k == open_side:
            if dice.random() < 0.4:
                stroke(leaf, start, start + (end - start) * dice.uniform(0.2, 0.5), way)
            continue
        if way.rough and dice.random() < 0.3:
            stroke(
                leaf,
                start - step * before + dice.normal(0, 0.6, 2),
                end + step * after + dice.normal(0, 0.6, 2),
                way,
            )
        if way.rough and dice.random() < 0.3:
            at = dice.uniform(0.2, 0.8)
            stroke(
                leaf, start - step * before, start + (end - start) * (at - 0.05), way
            )
            start, before = start + (end - start) * (at + 0.05), 0.0
        stroke(leaf, start - step * before, end + step * after, way)


def within(box: Points, u: npt.ArrayLike, v: npt.ArrayLike) -> Points:
    """Give places in a frame, by fractions across and down."""
    u, v = np.broadcast_arrays(np.atleast_1d(u), np.atleast_1d(v))
    top = box[0] + np.outer(u, box[1] - box[0])
    return np.asarray(top + (box[3] + np.outer(u, box[2] - box[3]) - top) * v[:, None])


def scene(leaf: Leaf, box: Points, way: Way, colour: float) -> None:
    """Draw people, houses, hills, words and shade, loosely."""
    dice = leaf.dice
    far = 1.06 if dice.random() < way.cross else 0.97
    if dice.random() < 0.6:
        _ground(leaf, box, far, colour)
    for _ in range(int(dice.integers(1, 4))):
        _person(leaf, box, far)
    if dice.random() < 0.3:
        a, b, c = dice.uniform([0.1, 0.2, 0.15], [0.55, 0.5, 0.35])
        across, down = (
            [a, a, a + c / 2, a + c, a + c, a],
            [b + c, b, b - 0.15, b, b + c, b + c],
        )
        leaf.line(within(box, across, down), 0.35, 0.7)
    if dice.random() < 0.25:
        a, b = dice.uniform(0.05, 0.5, 2)
        for k in np.linspace(0, 0.35, 14):
            leaf.line(within(box, [a + k, a + k - 0.08], [b, b + 0.4]), 0.3, 0.5)
    if dice.random() < 0.15:
        leaf.script(within(box, 0.1, 0.9)[0], (box[1] - box[0])[0] * 0.6, 1.5)
    if way.fold:
        thin = Way(way.wide * 0.8, way.dark * 0.85, way.press)
        start, end = within(box, [0.5, 0.5], [0, 1])
        stroke(leaf, start, end, thin)


def _ground(leaf: Leaf, box: Points, far: float, colour: float) -> None:
    dice = leaf.dice
    u = np.linspace(1 - far, far, 15)
    ground = np.clip(
        dice.uniform(0.4, 0.8) + np.cumsum(dice.normal(0, 0.015, 15)), 0.1, 0.95
    )
    leaf.line(within(box, u, ground), 0.35, 0.6)
    if dice.random() < colour:
        inner = np.clip(u, 0.02, 0.98)
        low = within(box, [0.98, 0.02], [0.97, 0.97])
        shape = np.vstack([within(box, inner, ground), low])
        leaf.tint(shape, dice.uniform(0.35, 0.95, 3))


def _person(leaf: Leaf, box: Points, far: float) -> None:
    dice = leaf.dice
    at = dice.uniform(0.12, far - 0.12, 2)
    reach = dice.uniform(0.04, 0.16)
    turn = np.linspace(0, 6.3, 14)
    head = within(box, at[0] + reach * 0.5 * np.cos(turn), at[1] + reach * np.sin(turn))
    leaf.line(head + dice.normal(0, 0.25, head.shape), 0.35, 0.7)
    if dice.random() < 0.3:
        leaf.tint(head, dice.uniform(0.1, 0.9, 3))
    down = np.minimum(at[1] + reach * np.arange(1, 6), far)
    leaf.line(within(box, at[0] + dice.normal(0, 0.03, 5), down), 0.35, 0.7)


def bare(leaf: Leaf, box: Points) -> None:
    """Draw or wash a picture that fills its place and has no frame."""
    dice = leaf.dice
    if dice.random() < 0.6:
        edge = np.vstack([within(box, u, v) for u, v in (
            (np.linspace(0, 1, 9), np.zeros(9)), (np.ones(9), np.linspace(0, 1, 9)),
            (np.linspace(1, 0, 9), np.ones(9)), (np.zeros(9), np.linspace(1, 0, 9)))])  # fmt: skip
        leaf.tint(
            edge + dice.normal(0, 0.35, edge.shape), dice.uniform(0.5, 0.92, 3), 0.5
        )
    else:
        for v in (dice.uniform(0, 0.12), dice.uniform(0.5, 0.8), dice.uniform(0.94, 1)):
            leaf.line(
                within(box, np.linspace(0, 1, 12), v + dice.normal(0, 0.015, 12)),
                0.4,
                0.6,
            )
        for _ in range(10):
            u = dice.uniform(0, 1)
            leaf.line(
                within(
                    box,
                    u + dice.normal(0, 0.01, 6),
                    np.linspace(0.05, dice.uniform(0.5, 1), 6),
                ),
                0.4,
                0.6,
            )
    scene(leaf, box, Way(0.4, 0.6, 0.4, cross=0.0), 0.5)
