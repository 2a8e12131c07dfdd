"""The paper of a sheet, and pages without any frames."""

import numpy as np

from tests.imaging.storyboards import frames as draw
from tests.imaging.storyboards import marks
from tests.imaging.storyboards.frames import Manner
from tests.imaging.storyboards.marks import Page, Points

NOTHING = ("text", "drawing", "blank", "plants", "painting", "list", "form", "window")
RULED = {
    "graph": (1.0, ("squares",)),
    "bound": (1.0, ("lines", "dots", "squares")),
    "phone": (0.15, ("lines",)),
    "none": (0.3, ("squares", "lines")),
}


def paper(page: Page, kind: str) -> None:
    """Tone, rule and stain the paper, as sheets of this kind are."""
    dice = page.dice
    tone = dice.uniform(0.9, 1.0) * np.array([1, 0.995, dice.uniform(0.93, 1)])
    if kind in ("worn", "brush") and dice.random() < 0.6:
        tone = np.array([[0.76, 0.63, 0.47], [0.7, 0.7, 0.69]][int(dice.integers(2))])
    page.light *= tone.astype(np.float32)
    chance, rulings = RULED.get(kind, (0.0, ("lines",)))
    if dice.random() < chance:
        marks.ruled(page, str(dice.choice(rulings)))
    if kind == "worn" or dice.random() < 0.08:
        marks.stained(page)
    if kind == "worn" and dice.random() < 0.6:
        marks.taped(page)
    if kind == "bound":
        marks.spiral(page)


def inside_of(quad: Points, by: float) -> Points:
    """Shrink a frame towards its middle."""
    return np.asarray(quad + (quad.mean(axis=0) - quad) * by, np.float64)


def drawn(page: Page, what: str) -> None:
    """Fill a page with one thing that is no storyboard."""
    whole = np.array([[0.08, 0.08], [0.92, 0.08], [0.92, 0.92], [0.08, 0.92]])
    quad = whole * (page.wide, page.high)
    if what in ("text", "list"):
        _written(page, quad, what)
    elif what in ("drawing", "painting"):
        _painted(page, quad, whole=what == "painting")
    elif what == "plants":
        _grown(page)
    elif what == "form":
        _form(page, quad)
    elif what == "window":
        _window(page, quad)


def _painted(page: Page, quad: Points, *, whole: bool) -> None:
    """One large picture, framed now and then."""
    if whole or page.dice.random() < 0.4:
        draw.drawn_frame(page, quad, Manner())
    for _ in range(6 if whole else 2):
        draw.small_picture(page, quad, Manner(crossing=0.4), 1.0 if whole else 0.2)


def _window(page: Page, quad: Points) -> None:
    """One frame parted by a cross, as a window is."""
    draw.drawn_frame(page, quad, Manner())
    ends = np.array([0.0, 1.0])
    for across in ((ends, ends * 0 + 0.5), (ends * 0 + 0.5, ends)):
        page.stroke(draw.inside(quad, *across), 4, 0.8)
    draw.small_picture(page, inside_of(quad, 0.3), Manner(), 0.5)


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


def _form(page: Page, quad: Points) -> None:
    """Rule a table of many low rows, and write in it."""
    dice = page.dice
    rows, columns = int(dice.integers(22, 34)), int(dice.integers(3, 7))
    ends = np.array([0.0, 1.0])
    for at in np.linspace(0, 1, rows + 1):
        page.stroke(draw.inside(quad, ends, np.full(2, at)), 1.5, 0.7)
    for at in [0.0, *np.sort(dice.uniform(0.1, 0.9, columns - 1)), 1.0]:
        page.stroke(draw.inside(quad, np.full(2, at), ends), 1.5, 0.7)
    size = (quad[2][1] - quad[0][1]) / rows * 0.3
    for row in range(rows):
        y = quad[0][1] + (row + 0.7) * size / 0.3
        page.words((quad[0][0] + 10, y), int(dice.integers(5, 60)), size)


def _grown(page: Page) -> None:
    """Fill the page with stalks."""
    dice = page.dice
    for _ in range(260):
        start = dice.uniform(0, 1, 2) * (page.wide, page.high)
        way = np.cumsum(dice.normal((0, -9), 14, (18, 2)), axis=0)
        page.stroke(start + way, dice.uniform(2, 9), dice.uniform(0.3, 0.9))
