"""Lines that a fold spoils: upright ones that lie in it, thin ones that cross it."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Doubles, Floats, srgb_to_lab

Mask = npt.NDArray[np.bool_]

WORKING = 3.0  # pixels a millimetre: enough for a line of 0.3 mm
UPRIGHT_DEG = 4.0
SLANT_DEG, FLAT_DEG = 8.0, 79.0
LEAST_UPRIGHT = 0.2  # of the picture's height
ARM_MM = 16.0  # how far a crossing line runs on either side of the fold at least
HELD = 0.85  # of that length it is seen
THIN_MM = 2.2
LEAST_STEP = 9.0  # L*
MOST_CROSSINGS = 6
SAME_MM, SAME_DEG = 4.0, 15.0  # apart by less, two are one line


@dataclass(frozen=True)
class Stroke:
    """A straight piece of line in fractions of the array it was found in."""

    x1: float
    y1: float
    x2: float
    y2: float
    length_mm: float
    degrees: float


def uprights(band: Bytes, *, px_per_mm: float, high_mm: float) -> list[Stroke]:
    """Find strong edges that run along the fold, within 4 degrees of upright.

    Parameters
    ----------
    band : uint8 array of shape (rows, columns, 3), the gutter band and nothing else
    px_per_mm : its pixels a millimetre
    high_mm : height of the sheet; an upright takes at least a fifth of it

    Returns
    -------
    Longest first, at most four.
    """
    if min(band.shape[:2]) < 3:
        return []
    light, scale = _lightness(band, px_per_mm)
    soft = cv2.GaussianBlur(light, (0, 0), 0.25 * scale, 0)
    tall = np.asarray(cv2.blur(soft, (1, max(1, round(4 * scale)))), np.float32)
    slope = np.abs(tall[:, 2:] - tall[:, :-2])
    strong = (np.pad(slope, ((0, 0), (1, 1))) >= LEAST_STEP / 2).astype(np.uint8) * 255
    least = LEAST_UPRIGHT * high_mm * scale
    found = _strokes(strong, scale, least, gap_mm=3)
    return [s for s in found if abs(s.degrees) <= UPRIGHT_DEG][:4]


def thin_crossings(middle: Bytes, *, px_per_mm: float) -> list[Stroke]:
    """Find thin slanting lines that cross the middle of a strip around the fold.

    Parameters
    ----------
    middle : uint8 array of shape (rows, columns, 3); the fold is its middle column
    px_per_mm : its pixels a millimetre

    Returns
    -------
    Lines up to 2.2 mm thick, 8 to 79 degrees off the upright, that run 16 mm and more
    on both sides; longest first, at most six.

    References
    ----------
    Sums along every line through the fold, as in the Radon transform (1917).
    """
    if min(middle.shape[:2]) < 3:
        return []
    light, scale = _lightness(middle, px_per_mm)
    side = max(3, round(THIN_MM * scale) | 1)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    dark = cv2.morphologyEx(light, cv2.MORPH_BLACKHAT, kernel)
    pale = cv2.morphologyEx(light, cv2.MORPH_TOPHAT, kernel)
    thin = np.maximum(np.asarray(dark), np.asarray(pale)) >= LEAST_STEP
    # A hand's line wavers: half a millimetre off still is on it.
    near = cv2.dilate(thin.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    return _through_middle(near, scale)


def _through_middle(seen: Mask, scale: float) -> list[Stroke]:
    """Lines through the middle column that are seen along both arms."""
    rows, columns = seen.shape
    arm = min(round(ARM_MM * scale), columns // 2 - 1)
    if arm < 3:
        return []
    starts, found = np.arange(rows), []
    for degrees in _slants():
        across, down = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
        held = [
            _seen_along(seen, starts, sign * np.arange(1, arm + 1), (across, down))
            for sign in (-1, 1)
        ]
        least = np.minimum(held[0].mean(axis=1), held[1].mean(axis=1))
        for row in np.flatnonzero(least >= HELD):
            found.append((float(least[row]), degrees, int(row)))
    kept: list[tuple[float, float, int]] = []
    for one in sorted(found, reverse=True):
        if all(
            abs(one[2] - other[2]) > SAME_MM * scale
            or abs(one[1] - other[1]) > SAME_DEG
            for other in kept
        ):
            kept.append(one)
    strokes = [_walked(seen, row, degrees, scale) for _, degrees, row in kept]
    return sorted(strokes, key=lambda one: -one.length_mm)[:MOST_CROSSINGS]


def _slants() -> Doubles:
    one = np.arange(SLANT_DEG, FLAT_DEG + 0.5)
    return np.concatenate([one, -one])


def _seen_along(
    seen: Mask,
    starts: npt.NDArray[np.intp],
    steps: npt.NDArray[np.intp],
    way: tuple[float, float],
) -> Mask:
    """Whether a line is seen at each step from each row of the middle column."""
    rows, columns = seen.shape
    x = np.clip(np.round(columns / 2 + steps * way[0]).astype(int), 0, columns - 1)
    y = starts[:, None] + np.round(steps * way[1]).astype(int)[None, :]
    inside = (y >= 0) & (y < rows)
    return np.asarray(seen[np.clip(y, 0, rows - 1), x[None, :]] & inside)


def _walked(seen: Mask, row: int, degrees: float, scale: float) -> Stroke:
    """Follow a line out from the fold on both sides until it is lost for 2 mm."""
    rows, columns = seen.shape
    way = (float(np.sin(np.radians(degrees))), float(np.cos(np.radians(degrees))))
    reach = int(columns / 2 / max(abs(way[0]), 0.05))
    gap, ends = round(2 * scale), []
    for sign in (-1, 1):
        steps = sign * np.arange(1, reach)
        there = _seen_along(seen, np.array([row]), steps, way)[0]
        lost = np.convolve(~there, np.ones(gap, int), "valid") == gap
        far = int(lost.argmax()) if lost.any() else len(there)
        ends.append((columns / 2 + sign * far * way[0], row + sign * far * way[1]))
    (x1, y1), (x2, y2) = sorted(ends, key=lambda end: end[1])
    end = np.clip(np.array([x1, y1, x2, y2]), 0, [columns, rows, columns, rows])
    return _stroke(end, np.array([columns, rows, columns, rows], np.float64), scale)


def _lightness(rgb: Bytes, px_per_mm: float) -> tuple[Floats, float]:
    """L* at about three pixels a millimetre, and how many they are."""
    scale = min(1.0, WORKING / px_per_mm)
    rows, columns = rgb.shape[:2]
    size = (max(3, round(columns * scale)), max(3, round(rows * scale)))
    small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    return srgb_to_lab(small)[..., 0], px_per_mm * scale


def _strokes(mask: Bytes, scale: float, least: float, *, gap_mm: float) -> list[Stroke]:
    lines = cv2.HoughLinesP(
        mask,
        1,
        np.pi / 360,
        threshold=max(10, round(least * 0.6)),
        minLineLength=least,
        maxLineGap=gap_mm * scale,
    )
    if lines is None:
        return []
    rows, columns = mask.shape
    ends = np.asarray(lines, np.float64).reshape(-1, 4)
    ends[ends[:, 1] > ends[:, 3]] = ends[ends[:, 1] > ends[:, 3]][:, [2, 3, 0, 1]]
    size = np.array([columns, rows, columns, rows], np.float64)
    return _apart([_stroke(end, size, scale) for end in ends])


def _stroke(end: Doubles, size: Doubles, scale: float) -> Stroke:
    across, down = float(end[2] - end[0]), float(end[3] - end[1])
    x1, y1, x2, y2 = (float(part) for part in end / size)
    return Stroke(
        x1,
        y1,
        x2,
        y2,
        length_mm=float(np.hypot(across, down)) / scale,
        degrees=float(np.degrees(np.arctan2(across, down))),
    )


def _apart(found: list[Stroke]) -> list[Stroke]:
    """Keep the longest of strokes that lie on one another."""
    kept: list[Stroke] = []
    for stroke in sorted(found, key=lambda s: -s.length_mm):
        if all(
            abs(stroke.x1 - k.x1) + abs(stroke.x2 - k.x2) > 0.05
            or abs(stroke.degrees - k.degrees) > 3
            for k in kept
        ):
            kept.append(stroke)
    return kept
