"""Frames and what is in them: sides drawn many ways, small pictures, numbers."""

from dataclasses import dataclass

import numpy as np

from tests.imaging.storyboards.marks import Page, Points, wobbled


@dataclass
class Manner:
    """How this artist draws her frames on this sheet."""

    tool: str = "pencil"
    wide: float = 2.5
    dark: float = 0.7
    wobble: float = 2.0
    overshoot: float = 4.0
    double: float = 0.0
    gaps: float = 0.0
    open_sides: float = 0.0
    only_corners: bool = False
    round_corners: bool = False
    gutter: bool = False
    filled: bool = False
    crossing: float = 0.15
    spilling: float = 0.0
    empty: float = 0.07


def drawn_frame(page: Page, quad: Points, how: Manner) -> None:
    """Draw the four sides, or what the manner leaves of them."""
    dice = page.dice
    left_out = int(dice.integers(4)) if dice.random() < how.open_sides else -1
    if how.filled:
        tint = tuple(dice.uniform(0.55, 0.85, 3))
        outline = np.vstack(
            [wobbled(dice, quad[k], quad[(k + 1) % 4], how.wobble) for k in range(4)]
        )
        page.wash(outline, tint, 1.5)
        if how.tool == "none":
            return
    for side in range(4):
        if side != left_out:
            _side(page, quad[side], quad[(side + 1) % 4], how)


def _side(page: Page, start: Points, end: Points, how: Manner) -> None:
    dice = page.dice
    far = float(np.hypot(*(end - start)))
    way = (end - start) / far
    over = np.abs(dice.normal(0, how.overshoot, 2))
    if how.round_corners:
        over = -np.full(2, 0.05 * far)
    if how.only_corners:
        arm = far * dice.uniform(0.22, 0.34, 2)
        _line(page, start, start + way * arm[0], how)
        _line(page, end - way * arm[1], end, how)
        return
    for _ in range(2 if dice.random() < how.double else 1):
        shift = dice.normal(0, how.wobble * 0.6, 2)
        points = wobbled(
            dice, start - way * over[0] + shift, end + way * over[1] + shift, how.wobble
        )
        if dice.random() < how.gaps:
            at = dice.uniform(0.15, 0.85)
            wide = dice.uniform(0.04, 0.14)
            along = np.linspace(0, 1, len(points))
            _path(page, points[along < at - wide / 2], how)
            _path(page, points[along > at + wide / 2], how)
        else:
            _path(page, points, how)


def _line(page: Page, start: Points, end: Points, how: Manner) -> None:
    _path(page, wobbled(page.dice, start, end, how.wobble * 0.4), how)


def _path(page: Page, points: Points, how: Manner) -> None:
    if len(points) < 2:
        return
    if how.tool != "brush":
        page.stroke(points, how.wide, how.dark * page.dice.uniform(0.85, 1.1))
        return
    swell = page.dice.uniform(0.5, 1.5, 5)
    along = np.interp(np.arange(len(points)), np.linspace(0, len(points), 5), swell)
    for k in range(len(points) - 1):
        page.stroke(points[k : k + 2], how.wide * along[k], how.dark)


def inside(quad: Points, u: Points, v: Points) -> Points:
    """Give places inside a frame, by fractions across and down."""
    top = quad[0] + np.outer(u, quad[1] - quad[0])
    low = quad[3] + np.outer(u, quad[2] - quad[3])
    return top + (low - top) * np.asarray(v)[:, None]


def small_picture(page: Page, quad: Points, how: Manner, colour: float) -> None:
    """Draw a little scene; some of it touches or crosses the frame."""
    dice = page.dice
    size = float(np.hypot(*(quad[1] - quad[0])))
    if dice.random() < 0.7:
        _ground(page, quad, how, colour)
    for _ in range(int(dice.integers(1, 5))):
        _thing(page, quad, how, size)
    if dice.random() < 0.3:
        a, b = dice.uniform(0.1, 0.5, 2)
        u = np.array([a, a + 0.25, a + 0.25, a, a])
        v = np.array([b, b, b + 0.35, b + 0.35, b])
        page.stroke(inside(quad, u, v), 1.5, 0.6)
    if dice.random() < 0.25:
        _hatching(page, quad)
    if dice.random() < how.spilling:
        _spill(page, quad, size)
    if how.gutter:
        ends = inside(quad, np.array([0.5, 0.5]), np.array([0.0, 1.0]))
        line = wobbled(dice, ends[0], ends[1], how.wobble * 0.5)
        page.stroke(line, max(1.0, how.wide * 0.7), how.dark * dice.uniform(0.5, 0.95))


def _ground(page: Page, quad: Points, how: Manner, colour: float) -> None:
    dice = page.dice
    level = dice.uniform(0.3, 0.8)
    over = 0.04 if dice.random() < how.crossing else 0.0
    u = np.linspace(-over, 1 + over, 24)
    wave = dice.uniform(0, 0.08) * np.sin(u * dice.uniform(2, 9) + dice.uniform(0, 6))
    v = np.clip(level + wave, 0.05, 0.97)
    page.stroke(inside(quad, u, v), 1.6, 0.6)
    if dice.random() < colour:
        shape = np.vstack([inside(quad, np.clip(u, 0.01, 0.99), v), quad[2], quad[3]])
        page.wash(shape, tuple(dice.uniform(0.5, 0.9, 3)), 3.0)
        if dice.random() < 0.5:
            sky = np.vstack([inside(quad, np.clip(u, 0.01, 0.99), v), quad[1], quad[0]])
            page.wash(sky, tuple(dice.uniform(0.7, 0.95, 3)), 3.0)


def _thing(page: Page, quad: Points, how: Manner, size: float) -> None:
    dice = page.dice
    crosses = dice.random() < how.crossing
    at = dice.uniform(0.02, 0.98, 2) if crosses else dice.uniform(0.18, 0.8, 2)
    middle = inside(quad, at[:1], at[1:])[0]
    reach = size * dice.uniform(0.02, 0.1, 2)
    _blot(page, middle, reach, size * 0.004, often=0.35)
    if dice.random() < 0.5:
        tail = np.cumsum(dice.normal(0, size * 0.015, (14, 2)), axis=0) + middle
        page.stroke(tail, 1.5, 0.6)


def _spill(page: Page, quad: Points, size: float) -> None:
    """Let something large hang over a side: a wing, a sail, a tree."""
    dice = page.dice
    at = dice.uniform(0.1, 0.9, 2)
    at[int(dice.integers(2))] = dice.choice([0.0, 1.0])
    middle = inside(quad, at[:1], at[1:])[0]
    reach = size * dice.uniform(0.06, 0.14, 2)
    _blot(page, middle, reach, size * 0.01, often=0.5)


def _blot(
    page: Page, middle: Points, reach: Points, loose: float, *, often: float
) -> None:
    """Draw one lumpy round thing, `often` washed before its outline is."""
    dice = page.dice
    turn = np.linspace(0, 2 * np.pi, 26)
    round_ = np.column_stack([np.cos(turn) * reach[0], np.sin(turn) * reach[1]])
    blob = middle + round_ + dice.normal(0, loose, round_.shape)
    if dice.random() < often:
        page.wash(blob, tuple(dice.uniform(0.25, 0.8, 3)), 2.0)
    page.stroke(blob, dice.uniform(1.2, 2.4), dice.uniform(0.45, 0.8))


def _hatching(page: Page, quad: Points) -> None:
    dice = page.dice
    a, b = dice.uniform(0.1, 0.6, 2)
    for k in np.linspace(0, 0.3, 12):
        u, v = np.array([a + k, a + k - 0.06]), np.array([b, b + 0.3])
        page.stroke(inside(quad, u, v), 1.2, 0.5)


def numbered(page: Page, quad: Points, value: int, where: str, room: float) -> None:
    """Number a frame beside, inside, above or under it."""
    size = float(np.clip(room * 0.7, 9, 26))
    x, y = {
        "inside": quad[0] + (6, size + 4),
        "above": quad[0] + (4, -5),
        "beside": quad[0] + (-size * 1.5, size),
        "under": quad[3] + (4, size + 5),
        "cornering": quad[0] + (-6, 4),
    }[where]
    page.number((x, y), value, size)


def captioned(page: Page, quad: Points, room: float) -> None:
    """Write a line or two under a frame."""
    size = float(np.clip(room * 0.28, 6, 14))
    for line in range(int(page.dice.integers(1, 3))):
        at = quad[3] + (8, size * 1.9 * (line + 1))
        wide = float(np.hypot(*(quad[2] - quad[3])))
        page.words((at[0], at[1]), int(wide / size * page.dice.uniform(0.5, 1.3)), size)
