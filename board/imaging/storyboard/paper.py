"""A sheet made even and straight: light taken out, drawn lines upright and level."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Matrix

LONGEST: Final = 1500
LEAN_DEG: Final = 20.0
TRIES: Final = 300
GUESSES: Final = 40
STEPS: Final = (3, 2, 1)  # in light, that still belong to the paper
LEAST_PAGE, WHOLE = 0.25, 0.97
CONVERGING: Final = 0.1  # change of slope to half a sheet away, where it counts half
CROSSING: Final = 8  # lines over the edge of what was taken for the page
SKEW: Final = 0.12  # of a photographed page, as a slope
_ROUND: Final = np.ones((13, 13), np.uint8)
Rows = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Straight:
    """A sheet with its lines level.

    Attributes
    ----------
    ink : float32 (rows, columns, 3), 0 paper .. 1 black in each channel
    inside : bool (rows, columns), where the picture has pixels, its rim left out
    matrix : 3 x 3, pixels of the straightened sheet to pixels of the picture given
    settled : whether enough lines told how it leans
    """

    ink: Floats
    inside: npt.NDArray[np.bool_]
    matrix: Matrix
    settled: bool


def straightened(picture: Bytes) -> Straight:
    """Even out a sheet's light, and turn it so that its drawn lines are level.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3), sRGB

    References
    ----------
    Hartley and Zisserman, Multiple View Geometry, 2003, section 8.6: two vanishing
    points make a plane square again. Segments: von Gioi et al., LSD, IPOL 2, 2012.
    """
    high, wide = picture.shape[:2]
    scale = min(1.0, LONGEST / max(high, wide))
    size = (max(8, round(wide * scale)), max(8, round(high * scale)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    ink = _ink(small)
    sheet = page_of(small)
    if not sheet.all() and _crossing(_segments(ink), sheet) >= CROSSING:
        sheet = np.full_like(sheet, 255)  # it was a shadow's edge: lines run across it
    level, settled = _level(ink * (cv2.erode(sheet, _ROUND) > 0)[..., None])
    matrix, out_size = _fitted(level, size)
    flat = cv2.warpPerspective(ink, matrix, out_size, flags=cv2.INTER_LINEAR)
    cover = cv2.warpPerspective(sheet, matrix, out_size, flags=cv2.INTER_NEAREST)
    inside = cv2.erode(cover, _ROUND, borderValue=0) > 0
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    to_edges = np.diag([wide / size[0], high / size[1], 1.0]) @ half
    back = to_edges @ np.linalg.inv(matrix) @ np.linalg.inv(half)
    return Straight(flat, inside, back, settled)


def page_of(picture: Bytes) -> npt.NDArray[np.uint8]:
    """Say which pixels are the page and not the table it lies on: 255 or 0.

    The page is what can be reached from its paper without a step in light or colour,
    strokes closed; where that is no plain shape, everything is taken for the page.
    """
    high, wide = picture.shape[:2]
    whole = np.full((high, wide), 255, np.uint8)
    scale = 320 / max(high, wide)
    size = (max(8, round(wide * scale)), max(8, round(high * scale)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    small = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((7, 7), np.uint8))
    small = cv2.medianBlur(small, 5)
    for step in STEPS:
        hull = _reached(small, step)
        if hull is not None:
            break
    else:
        return whole
    filled = np.zeros(size[::-1], np.uint8)
    cv2.fillConvexPoly(filled, hull, 255)
    return np.asarray(cv2.resize(filled, (wide, high), interpolation=cv2.INTER_LINEAR))


def _reached(small: Bytes, step: int) -> npt.NDArray[np.int32] | None:
    """Give the hull of the paper reached from the brightest places in the middle."""
    high, wide = small.shape[:2]
    light = small.min(axis=2).astype(np.int32)
    middle = np.zeros_like(light)
    middle[high // 5 : -high // 5, wide // 5 : -wide // 5] = 1
    fair = light[middle > 0]
    seeds = np.argwhere((light >= np.percentile(fair, 85)) & (middle > 0))
    mask = np.zeros((high + 2, wide + 2), np.uint8)
    for y, x in seeds[:: max(1, len(seeds) // 40)]:
        if mask[y + 1, x + 1]:
            continue
        how = 8 | (255 << 8) | cv2.FLOODFILL_MASK_ONLY
        cv2.floodFill(small, mask, (int(x), int(y)), 0, (step,) * 3, (step,) * 3, how)
    core = cv2.morphologyEx(mask[1:-1, 1:-1], cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    points = cv2.findNonZero(core)
    if points is None:
        return None
    hull = cv2.convexHull(points)
    around = cv2.approxPolyDP(hull, 0.02 * (high + wide), True)  # noqa: FBT003
    share = cv2.contourArea(hull) / (high * wide)
    if not LEAST_PAGE < share < WHOLE or (step < STEPS[0] and len(around) != 4):
        return None
    plain = cv2.contourArea(around) > 0.9 * cv2.contourArea(hull)
    return np.asarray(hull, np.int32) if plain else None


def _ink(picture: Bytes) -> Floats:
    """Darkness against the paper round about, in each channel."""
    light = picture.astype(np.float32) + 1
    small = cv2.resize(light, None, fx=1 / 6, fy=1 / 6, interpolation=cv2.INTER_AREA)
    reach = max(5, round(max(small.shape[:2]) / 14)) | 1
    paper = cv2.dilate(cv2.medianBlur(small, 3), np.ones((reach, reach), np.uint8))
    paper = cv2.GaussianBlur(paper, (0, 0), reach / 2)
    size = (picture.shape[1], picture.shape[0])
    paper = cv2.resize(paper, size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.clip(1 - light / paper, 0, 1), np.float32)


def _segments(ink: Floats) -> Rows:
    """Straight pieces, (n, 4): x, y, x, y."""
    grey = np.clip(255 * (1 - ink.max(axis=2)), 0, 255).astype(np.uint8)
    found = cv2.createLineSegmentDetector().detect(cv2.GaussianBlur(grey, (0, 0), 1))
    lines = found[0]
    if lines is None:
        return np.empty((0, 4))
    high, wide = grey.shape
    rows = np.asarray(lines, np.float64).reshape(-1, 4)
    rows = np.clip(rows, 0, [wide - 1, high - 1] * 2)
    long = np.hypot(rows[:, 2] - rows[:, 0], rows[:, 3] - rows[:, 1])
    rows, long = rows[long > 25], long[long > 25]
    return rows[np.argsort(-long)[:1200]]


def _crossing(pieces: Rows, sheet: npt.NDArray[np.uint8]) -> int:
    """How many pieces run from well within the page to well outside it."""
    x, y = pieces.reshape(-1, 2).astype(int).T
    within = (cv2.erode(sheet, _ROUND) > 0)[y, x].reshape(-1, 2)
    outside = (cv2.dilate(sheet, _ROUND) == 0)[y, x].reshape(-1, 2)
    return int((within.any(axis=1) & outside.any(axis=1)).sum())


def _level(ink: Floats) -> tuple[Matrix, bool]:
    """Give the matrix that makes most segments level or upright.

    With x' = (x + sv y) / (1 + px x + py y) and y' = (y + sh x) / (1 + px x + py y),
    a level segment's ends meet (y1 - y2) + sh (x1 - x2) + (px - sh py)(x2 y1 - x1 y2)
    = 0: two unknowns for each direction, both linear.
    """
    high, wide = ink.shape[:2]
    middle, reach = np.array([wide / 2, high / 2]), max(high, wide) / 2
    rows = (_segments(ink).reshape(-1, 2) - middle).reshape(-1, 4) / reach
    way = np.degrees(np.arctan2(rows[:, 3] - rows[:, 1], rows[:, 2] - rows[:, 0]))
    way = (way + 90) % 180 - 90
    flat = _Pieces.of(rows[np.abs(way) < LEAN_DEG])
    steep = _Pieces.of(rows[np.abs(way) > 90 - LEAN_DEG][:, [1, 0, 3, 2]])
    (sh, one), (sv, two) = _together(flat, steep)
    px, py = np.linalg.solve([[1, -sh], [-sv, 1]], [one, two])
    bent = np.array([[1, sv, 0], [sh, 1, 0], [px, py, 1]])
    unit = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, reach]]) / reach
    agreed = min(flat.agreed((sh, one)), steep.agreed((sv, two)))
    return bent @ unit, agreed >= 8


@dataclass(frozen=True)
class _Pieces:
    """Nearly level pieces as equations for a slope and its change: left @ two = right."""

    left: Rows
    right: Rows
    long: Rows

    @classmethod
    def of(cls, rows: Rows) -> "_Pieces":
        x1, y1, x2, y2 = rows.T
        long = np.hypot(x2 - x1, y2 - y1)
        left = np.column_stack([x1 - x2, x2 * y1 - x1 * y2]) / long[:, None]
        return cls(left, (y2 - y1) / long, long)

    def guesses(self) -> tuple[Rows, Rows]:
        """The answers of random pairs that most pieces agree on, and how many do."""
        found = np.zeros((1, 2))
        if len(self.long) >= 4:
            chance = self.long / self.long.sum()
            dice = np.random.default_rng(5)
            two = dice.choice(len(self.long), (TRIES, 2), p=chance)
            two = two[np.abs(np.linalg.det(self.left[two])) > 0.05]
            more = np.linalg.solve(self.left[two], self.right[two][..., None])[..., 0]
            found = np.vstack([found, more[np.abs(more[:, 1]) < 0.3]])
        off = found @ self.left.T - self.right
        worth = np.exp(-((off / 0.012) ** 2)) @ self.long
        worth /= (1 + (found[:, 1] / CONVERGING) ** 2) * max(1e-9, self.long.sum())
        best = np.argsort(-worth)[:GUESSES]
        return found[best], worth[best]

    def refined(self, best: Rows) -> Rows:
        """Fit the answer to the pieces that agree with it."""
        calm = np.diag([1e-4, 0.02])
        for reach in (0.02, 0.015, 0.012):
            near = np.exp(-(((self.left @ best - self.right) / reach) ** 2))
            weight = np.sqrt(self.long * near)
            whole = np.vstack([self.left * weight[:, None], calm])
            aim = np.append(self.right * weight, [0, 0])
            best = np.linalg.lstsq(whole, aim, rcond=None)[0]
        return best

    def agreed(self, best: tuple[float, float]) -> int:
        """How many pieces are level by an answer."""
        return int((np.abs(self.left @ np.array(best) - self.right) < 0.02).sum())


def _together(flat: _Pieces, steep: _Pieces) -> tuple[Rows, Rows]:
    """Choose for both directions what leaves the page nearly square: hatching is not."""
    (level, one), (upright, two) = flat.guesses(), steep.guesses()
    skew = level[:, :1] + upright[:, 0]
    worth = (one[:, None] + two) * np.exp(-((skew / SKEW) ** 2))
    a, b = np.unravel_index(int(worth.argmax()), worth.shape)
    return flat.refined(level[a]), steep.refined(upright[b])


def _fitted(level: Matrix, size: tuple[int, int]) -> tuple[Matrix, tuple[int, int]]:
    """Scale and shift so that the whole picture is seen at about its own size."""
    wide, high = size
    corners = np.array([[[0, 0], [wide, 0], [wide, high], [0, high]]], np.float64)
    moved = cv2.perspectiveTransform(corners, level)[0]
    low, top = moved.min(axis=0), moved.max(axis=0)
    scale = LONGEST / float(max(top - low))
    put = np.array([[scale, 0, -low[0] * scale], [0, scale, -low[1] * scale],
                    [0, 0, 1]])  # fmt: skip
    reach = np.ceil((top - low) * scale).astype(int)
    return put @ level, (int(reach[0]), int(reach[1]))
