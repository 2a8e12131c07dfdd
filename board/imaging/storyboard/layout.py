"""One set of frames for a sheet: which boxes belong together, and what is missing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.boxes import SLACK, Box, Support, overlap
from board.imaging.storyboard.sizes import Coarse, SizeFound

DRAWN: Final = 0.6
USUAL, MOST = 8, 22
LONE: Final = 0.86
OPEN, WHOLE = 0.45, 0.6
SAME_LINE: Final = 6.0  # pixels that neighbours may lie over each other
BESIDE: Final = (0.2, 0.75)  # of a height, in which a neighbour stands in no row
TOUCH, APART = 5.0, 20.0  # pixels between neighbours
Counts = npt.NDArray[np.int64]
SPLITS: Final = ((1, 2), (2, 1), (2, 2), (1, 3), (3, 1))


@dataclass(frozen=True)
class Layout:
    """A set of boxes that do not overlap, and how well they explain the sheet."""

    boxes: list[Box]
    worth: float
    uneven: float = 0.0
    lattice: bool = False


def best_layouts(
    sizes: Sequence[SizeFound], coarse: Coarse, support: Support
) -> list[Layout]:
    """Place every size's boxes and weigh the sets; the best comes first."""
    sets = [_set(size, support, SLACK) for size in sizes]
    found = sorted((one for one in sets if one), key=lambda one: -one.worth)
    again = [_refitted(one, coarse, support) for one in found[:8]]
    again.sort(key=lambda one: -one.worth)
    for one in again[:3]:
        wide, high = usual(one.boxes)
        for across, down in SPLITS:
            less = _set(coarse.asked((wide / across, high / down)), support, SLACK)
            if less is not None:
                again.append(_refitted(less, coarse, support))
    return sorted([*again, *found[8:]], key=lambda one: -one.worth)


def _refitted(one: Layout, coarse: Coarse, support: Support) -> Layout:
    """Ask again for exactly the usual size, as long as that explains more."""
    best = one
    for _ in range(2):
        newer = _set(coarse.asked(usual(one.boxes)), support, 0.04)
        if newer is None:
            break
        same = abs(newer.worth - one.worth) < 0.01 * one.worth
        one = newer
        best = max(best, newer, key=lambda layout: layout.worth)
        if same:
            break
    return best


def _set(size: SizeFound, support: Support, slack: float) -> Layout | None:
    placed = support.placed(size.boxes, slack)
    chosen = apart([box for box in placed if box.told >= DRAWN])
    return weighed(chosen) if len(chosen) >= 2 else None


def apart(boxes: Sequence[Box]) -> list[Box]:
    """Keep the best drawn of those that overlap."""
    kept: list[Box] = []
    for box in sorted(boxes, key=lambda box: -(box.told - 0.1 * box.past)):
        if all(overlap(box, other) < 0.12 for other in kept):
            kept.append(box)
    return kept


def weighed(boxes: list[Box], *, lattice: bool = False) -> Layout:
    """Weigh a set: much drawn, little going on past corners, gaps all of one kind.

    In a lattice every side goes on past its corners, and that speaks for it; but a few
    lines right across a sheet are soon found.
    """
    past = 0.0 if lattice else 0.1
    worth = sum((box.told - 0.5 - past * box.past) * box.area**0.7 for box in boxes)
    many = len(boxes)
    if many > MOST:
        worth *= 0.55
    elif many < USUAL:
        share = many / USUAL
        worth *= share**2 if lattice else 0.5 + 0.5 * share
    uneven = 0.0
    if not lattice:
        uneven = max(_mixed(boxes, across=True), _mixed(boxes, across=False))
    return Layout(boxes, worth * (1 - 0.5 * uneven), uneven, lattice)


def in_rows(layout: Layout) -> Layout:
    """Weigh a set once more: frames stand in rows, and none lies over its neighbour."""
    if layout.lattice:
        return layout
    spaces = np.array(gaps(layout.boxes, across=True))
    over = float((spaces < -SAME_LINE).mean()) if len(spaces) else 0.0
    astray = float((_beside(layout.boxes)[1] > 0).mean())
    worth = layout.worth * (1 - 0.5 * astray) * (1 - 0.5 * over)
    return replace(layout, worth=worth)


def _beside(boxes: Sequence[Box]) -> tuple[Counts, Counts]:
    """How many stand in one row with each box, and how many half beside it."""
    y0, y1 = np.array([[box.y0, box.y1] for box in boxes]).T
    high = np.minimum(y1 - y0, (y1 - y0)[:, None])
    shared = (np.minimum(y1, y1[:, None]) - np.maximum(y0, y0[:, None])) / high
    np.fill_diagonal(shared, 0)
    half = (shared > BESIDE[0]) & (shared < BESIDE[1])
    return (shared >= BESIDE[1]).sum(axis=1), half.sum(axis=1)


def without_stray(layout: Layout) -> Layout:
    """Leave out boxes that stand half beside more others than in a row with them."""
    boxes = list(layout.boxes)
    while len(boxes) > 2:
        row, half = _beside(boxes)
        worst = int((half - row).argmax())
        if half[worst] <= row[worst]:
            break
        del boxes[worst]
    return replace(layout, boxes=boxes)


def gaps(boxes: Sequence[Box], *, across: bool) -> list[float]:
    """Spaces between neighbours in a row, or one under the other."""
    found: list[float] = []
    for box in boxes:
        near: list[float] = []
        for other in boxes:
            if other is box:
                continue
            if across:
                shared = min(box.y1, other.y1) - max(box.y0, other.y0)
                gap, side = other.x0 - box.x1, min(box.height, other.height)
            else:
                shared = min(box.x1, other.x1) - max(box.x0, other.x0)
                gap, side = other.y0 - box.y1, min(box.width, other.width)
            if shared > 0.5 * side and gap > -0.3 * side:
                near.append(gap)
        if near:
            found.append(min(near))
    return found


def _mixed(boxes: Sequence[Box], *, across: bool) -> float:
    """0 when no or all neighbours touch, 1 when half of them do and half stand apart."""
    spaces = np.array(gaps(boxes, across=across))
    if len(spaces) < 3:
        return 0.0
    touch = np.clip((14 - spaces) / 8, 0, 1)
    share = float(touch.mean())
    if not 0.15 < share < 0.85:
        return 0.0
    near = float(np.average(spaces, weights=touch))
    apart = float(np.average(spaces, weights=1 - touch))
    both = np.clip((min(share, 1 - share) - 0.15) / 0.3, 0, 1)
    return float(both * np.clip((apart - near - 8) / 14, 0, 1))


def completed(layout: Layout, support: Support, least: float = 0.42) -> Layout:
    """Add what the first look left out: other widths, and weak ones where one belongs."""
    boxes = list(layout.boxes)
    size = usual(boxes)
    aside, below = (0.4 * _between(boxes, across=way) for way in (True, False))
    guesses = _expected(boxes, size, support.shape)
    weak = support.placed([replace(guess, guessed=True) for guess in guesses], 0.1)
    for box in sorted(weak, key=lambda box: -box.drawn):
        second = sorted(box.sides)[1]
        if box.drawn < least or second < 0.3:
            continue
        if (
            abs(np.log(box.width / size[0])) > 0.2
            or abs(np.log(box.height / size[1])) > 0.2
        ):
            continue
        wider = replace(box, x0=box.x0 - aside, y0=box.y0 - below,
                        x1=box.x1 + aside, y1=box.y1 + below)  # fmt: skip
        if all(overlap(wider, other) < 0.12 for other in boxes):
            boxes.append(box)
    return replace(layout, boxes=boxes)


def _between(boxes: Sequence[Box], *, across: bool) -> float:
    """The middle space between neighbours; 0 where they touch or are far apart."""
    spaces = [gap for gap in gaps(boxes, across=across) if gap > 0]
    most = 1.2 * usual(boxes)[0 if across else 1]
    middle = float(np.median(spaces)) if spaces else 0.0
    return middle if middle < most else 0.0


def touching(boxes: Sequence[Box]) -> list[tuple[Box, Box]]:
    """Neighbours in a row that touch where most stand well apart."""
    spaces = gaps(boxes, across=True)
    if not spaces or float(np.median(spaces)) < APART:
        return []
    pairs = (two for row in rows_of(boxes) for two in pairwise(row))
    return [(one, two) for one, two in pairs if two.x0 - one.x1 < TOUCH]


def without_touching(layout: Layout) -> Layout:
    """Leave out the worse drawn of two that touch where most stand apart.

    It is a smaller one, drawn out as far as its neighbour.
    """
    worse = [min(two, key=lambda box: box.drawn) for two in touching(layout.boxes)]
    return replace(layout, boxes=[box for box in layout.boxes if box not in worse])


def closed(layout: Layout, support: Support) -> Layout:
    """Put an open side where the side across from it and the usual size say.

    Only boxes with one open side and three drawn ones are touched.
    """
    whole = [box for box in layout.boxes if min(box.sides) > WHOLE]
    if len(whole) < 3:
        return layout
    wide, high = usual(whole)
    boxes = []
    for box in layout.boxes:
        top, right, low, left = box.sides
        if min(box.sides) > OPEN or sorted(box.sides)[1] < WHOLE:
            boxes.append(box)
            continue
        shut = {
            top: replace(box, y0=box.y1 - high),
            right: replace(box, x1=box.x0 + wide),
            low: replace(box, y1=box.y0 + high),
            left: replace(box, x0=box.x1 - wide),
        }[min(box.sides)]
        fits = 0.8 < shut.area / box.area < 1.25
        boxes.append(support.weighed(shut) if fits else box)
    return replace(layout, boxes=boxes)


def with_lone(layout: Layout, sizes: Sequence[SizeFound], support: Support) -> Layout:
    """Add single pages and odd widths that are as high as the rest and well drawn."""
    boxes = list(layout.boxes)
    wide, high = usual(boxes)
    others: list[Box] = []
    for found in sizes:
        for rough in found.boxes:
            if (
                not 0.8 < rough.height / high < 1.25
                or not 0.35 < rough.width / wide < 1.7
            ):
                continue
            if all(overlap(rough, other) < 0.3 for other in boxes):
                others.append(rough)
    others = support.placed(others)
    others.sort(key=lambda box: -(box.drawn - 0.3 * box.past) * box.width**0.3)
    for box in others:
        free = all(overlap(box, other) < 0.1 for other in boxes)
        if free and box.drawn >= LONE and box.past < 0.35:
            boxes.append(box)
    return replace(layout, boxes=boxes)


def usual(boxes: Sequence[Box]) -> tuple[float, float]:
    """The middle width and height."""
    return (
        float(np.median([box.width for box in boxes])),
        float(np.median([box.height for box in boxes])),
    )


def _expected(
    boxes: Sequence[Box], size: tuple[float, float], shape: tuple[int, ...]
) -> list[Box]:
    """Where a frame of the usual size would stand, by its neighbours' rows and columns."""
    lines = rows_of(boxes)
    across = [gap for gap in gaps(boxes, across=True) if gap < 0.7 * size[0]]
    step = size[0] + (float(np.median(across)) if across else 0.08 * size[0])
    columns = _clustered([box.x0 for box in boxes], 0.12 * size[0])
    found: list[Box] = []
    for row in lines:
        y0 = float(np.median([box.y0 for box in row]))
        starts = list(columns)
        for box in row:
            starts += [box.x0 + step, box.x0 - step]
        found += [Box(x, y0, x + size[0], y0 + size[1]) for x in starts]
    tops = sorted(float(np.median([box.y0 for box in row])) for row in lines)
    if len(tops) >= 2:
        drop = float(np.median(np.diff(tops)))
        news = [tops[0] - drop, tops[-1] + drop]
        news += [a + drop for a, b in pairwise(tops) if b - a > 1.6 * drop]
        found += [Box(x, y, x + size[0], y + size[1]) for y in news for x in columns]
    high, wide = shape[:2]
    return [
        box
        for box in found
        if box.x0 > -4 and box.y0 > -4 and box.x1 < wide + 4 and box.y1 < high + 4
    ]


def _clustered(values: Sequence[float], reach: float) -> list[float]:
    groups: list[list[float]] = []
    for value in sorted(values):
        if groups and value - np.median(groups[-1]) < reach:
            groups[-1].append(value)
        else:
            groups.append([value])
    return [float(np.median(group)) for group in groups]


def rows_of(boxes: Sequence[Box]) -> list[list[Box]]:
    """Put boxes into rows, from the top, each from the left."""
    rows: list[list[Box]] = []
    for box in sorted(boxes, key=lambda box: box.y0 + box.y1):
        middle = (box.y0 + box.y1) / 2
        for row in rows:
            about = float(np.median([(other.y0 + other.y1) / 2 for other in row]))
            if abs(middle - about) < 0.5 * min(box.height, row[0].height):
                row.append(box)
                break
        else:
            rows.append([box])
    rows.sort(key=lambda row: float(np.median([box.y0 for box in row])))
    return [sorted(row, key=lambda box: box.x0) for row in rows]
