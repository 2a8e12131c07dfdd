"""Small pictures without frames: what the white between them keeps apart."""

from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.storyboard.boxes import Box, overlap
from board.imaging.storyboard.layout import rows_of, usual
from board.imaging.storyboard.lines import Lines
from board.imaging.storyboard.paper import Straight

FEWEST: Final = 8
MOST: Final = 24
FILLED: Final = 0.2
THIN: Final = 0.13  # share of a row or column that is the picture's rim
LEAST_SIDE, MOST_SIDE = 0.045, 0.4
Mask = npt.NDArray[np.uint8]


def parted(sheet: Straight, lines: Lines) -> list[Box]:
    """Find small pictures of about one size in rows; none where there is no order."""
    used = _used(sheet, lines)
    best: list[Box] = []
    most = 0.0
    longest = max(used.shape)
    for share in (0.004, 0.008, 0.013, 0.02):
        reach = max(3, round(share * longest)) | 1
        for boxes in (_pieces(used, reach), _by_white(used, reach)):
            found = _alike(boxes, longest)
            worth = _order(found)
            if worth > most:
                best, most = found, worth
    return best if most > 0 else []


def _used(sheet: Straight, lines: Lines) -> Mask:
    """Say where there is anything on the paper, thin strokes and pale washes alike."""
    dark = cv2.GaussianBlur(lines.dark, (0, 0), 1.5)
    noise = float(np.median(dark[sheet.inside])) if sheet.inside.any() else 0.0
    least = max(0.035, 2.2 * noise)
    return np.asarray(((dark > least) & sheet.inside).astype(np.uint8))


def _pieces(used: Mask, reach: int) -> list[Box]:
    """Boxes round what hangs together, thin things such as words left out."""
    close = cv2.morphologyEx(used, cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    many, marks, stats, _ = cv2.connectedComponentsWithStats(close)
    least = LEAST_SIDE * max(used.shape)
    return [
        _trimmed(marks[y : y + h, x : x + w] == one, (x, y))
        for one, (x, y, w, h, area) in enumerate(stats[1:many], 1)
        if w > least and h > 0.6 * least and area > FILLED * w * h
    ]


def _trimmed(mask: npt.NDArray[np.bool_], at: tuple[int, int]) -> Box:
    """Leave out rims where hardly anything is: numbers, tails, ends of strokes."""
    x, y = at
    across = np.flatnonzero(mask.mean(axis=0) > THIN)
    down = np.flatnonzero(mask.mean(axis=1) > THIN)
    if not len(across) or not len(down):
        return Box(float(x), float(y), float(x + 1), float(y + 1))
    return Box(float(x + across[0]), float(y + down[0]),
               float(x + across[-1] + 1), float(y + down[-1] + 1))  # fmt: skip


def _by_white(used: Mask, reach: int) -> list[Box]:
    """Boxes between white bands right across the sheet, then between white columns."""
    found: list[Box] = []
    for top, low in _stretches(used.sum(axis=1) > 4, reach):
        if low - top < 0.6 * LEAST_SIDE * max(used.shape):
            continue
        row = used[top:low]
        close = cv2.morphologyEx(
            row, cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8)
        )
        for left, right in _stretches(row.sum(axis=0) > 0, reach):
            found.append(_trimmed(close[:, left:right] > 0, (left, top)))
    return found


def _stretches(on: npt.NDArray[np.bool_], gap: int) -> list[tuple[int, int]]:
    """Where something is, gaps up to some pixels closed."""
    at = np.flatnonzero(on)
    if not len(at):
        return []
    ends = np.flatnonzero(np.diff(at) > gap)
    starts = [at[0], *at[ends + 1]]
    return [
        (int(a), int(b) + 1) for a, b in zip(starts, [*at[ends], at[-1]], strict=True)
    ]


def _alike(boxes: list[Box], longest: int) -> list[Box]:
    """Keep those of the commonest size."""
    fair = [
        box
        for box in boxes
        if LEAST_SIDE * longest < box.width < MOST_SIDE * longest
        and 0.6 * LEAST_SIDE * longest < box.height < MOST_SIDE * longest
        and 0.4 < box.width / box.height < 4.5
    ]
    best: list[Box] = []
    for one in fair:
        near = [
            box
            for box in fair
            if abs(np.log(box.width / one.width)) < 0.3
            and abs(np.log(box.height / one.height)) < 0.3
        ]
        if len(near) > len(best):
            best = near
    others = [
        box
        for box in fair
        if best and box not in best and 0.75 < box.height / usual(best)[1] < 1.33
    ]
    return best + [
        box for box in others if all(overlap(box, other) < 0.1 for other in best)
    ]


def _order(boxes: list[Box]) -> float:
    """How well they stand in rows of alike boxes; 0 when they do not."""
    if not FEWEST <= len(boxes) <= MOST:
        return 0.0
    rows = rows_of(boxes)
    wide, high = usual(boxes)
    spread = np.mean([abs(np.log(box.height / high)) for box in boxes])
    spread += np.mean([min(0.5, abs(np.log(box.width / wide))) for box in boxes])
    off = np.mean(
        [
            abs(box.y0 - float(np.median([other.y0 for other in row]))) / high
            for row in rows
            for box in row
        ]
    )
    if len(rows) < 2 or len(boxes) / len(rows) < 1.6 or spread > 0.3 or off > 0.12:
        return 0.0
    return float(len(boxes) * (1 - spread - 2 * off))
