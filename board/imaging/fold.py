"""Lines that a fold spoils: upright ones that lie in it, thin ones that cross it."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes, Doubles, Floats, srgb_to_lab

WORKING = 3.0  # pixels a millimetre: enough for a line of 0.3 mm
UPRIGHT_DEG = 4.0
FLAT_DEG = 75.0
LEAST_UPRIGHT = 0.2  # of the picture's height
LEAST_CROSSING_MM = 40.0
THIN_MM = 1.6
LEAST_STEP = 9.0  # L*


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
    Lines up to 1.6 mm thick, 4 to 75 degrees off the upright, longest first, at most six.
    """
    if min(middle.shape[:2]) < 3:
        return []
    light, scale = _lightness(middle, px_per_mm)
    side = max(3, round(THIN_MM * scale) | 1)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    dark = cv2.morphologyEx(light, cv2.MORPH_BLACKHAT, kernel)
    pale = cv2.morphologyEx(light, cv2.MORPH_TOPHAT, kernel)
    thin = np.maximum(np.asarray(dark), np.asarray(pale)) >= LEAST_STEP
    mask = thin.astype(np.uint8) * 255
    found = _strokes(mask, scale, LEAST_CROSSING_MM * scale, gap_mm=1.5)
    return [
        s
        for s in found
        if UPRIGHT_DEG < abs(s.degrees) <= FLAT_DEG and (s.x1 - 0.5) * (s.x2 - 0.5) < 0
    ][:6]


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
