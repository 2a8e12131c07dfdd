"""What four inks do to a picture: out of reach, too much ink, and where."""

from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Doubles, Floats, srgb_to_lab
from board.imaging.contrast import contrast_ratio, relative_luminance

Mask = npt.NDArray[np.bool_]
Answer = TypeVar("Answer", bound=np.generic)
COLOURS = 1 << 24
MOST_COLOURS = 1_500_000
CELL_MM = 1.0
HALF = 0.5
BLACK = np.zeros(3, np.uint8)


@dataclass(frozen=True)
class Patch:
    """A place in fractions of the array, the share it takes, and its worst value."""

    x: float
    y: float
    width: float
    height: float
    share: float
    worst: float


@dataclass(frozen=True)
class EveryColour:
    """Every colour that a picture has, and which of them each pixel is.

    `colours` is uint8 (n, 3), `at` int32 (rows, columns).
    """

    colours: Bytes
    at: npt.NDArray[np.int32]

    def spread(self, answers: npt.NDArray[Answer]) -> npt.NDArray[Answer]:
        """Answers for the colours, (n, ...), as a picture, (rows, columns, ...)."""
        return np.asarray(answers.take(self.at, axis=0))


def every_colour(rgb: Bytes) -> EveryColour:
    """Gather the colours of a picture, so that each is asked about once.

    Parameters
    ----------
    rgb : uint8 array of shape (rows, columns, 3)

    Returns
    -------
    Its colours and where they lie. Beyond 1.5 million colours the lowest bit of each
    channel is left out.
    """
    packed = _packed(rgb)
    seen = np.zeros(COLOURS, np.bool_)
    seen[packed] = True
    colours = np.flatnonzero(seen)
    if len(colours) > MOST_COLOURS:
        return every_colour(rgb & np.uint8(0xFE))
    places = np.zeros(COLOURS, np.int32)
    places[colours] = np.arange(len(colours), dtype=np.int32)
    return EveryColour(_unpacked(colours), places.take(packed))


def _packed(rgb: Bytes) -> npt.NDArray[np.uint32]:
    """Each pixel as one number, 0xRRGGBB."""
    four = np.asarray(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2BGRA))
    return four.view("<u4")[..., 0] & np.uint32(0xFFFFFF)


def _unpacked(colours: npt.NDArray[np.intp]) -> Bytes:
    parts = [(colours >> 16) & 255, (colours >> 8) & 255, colours & 255]
    return np.stack(parts, axis=1).astype(np.uint8)


def ink_sum(cmyk: Bytes) -> Floats:
    """Add up four inks, uint8 (..., 4), in per cent: 0 to 400."""
    return np.asarray(cmyk.sum(axis=-1, dtype=np.float32) * np.float32(100 / 255))


def patches(
    flagged: Mask, worth: Floats, *, px_per_mm: float, most: int = 12
) -> tuple[float, list[Patch]]:
    """Gather flagged pixels into places, largest first.

    A place is made of cells of a square millimetre of which half is flagged, so that
    single pixels of grain are no place.

    Returns
    -------
    The share of the array that such cells take, 0 to 1, and the places.
    """
    cell = max(1, round(CELL_MM * px_per_mm))
    rows, columns = flagged.shape
    size = (max(1, columns // cell), max(1, rows // cell))
    thick = cv2.resize(flagged.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    cells = (np.asarray(thick) >= HALF).astype(np.uint8)
    many, labels, stats, _ = cv2.connectedComponentsWithStats(cells, connectivity=8)
    total = cells.size
    order = sorted(range(1, many), key=lambda at: -int(stats[at, 4]))[:most]
    found = [
        _patch(np.asarray(labels) == at, stats[at], worth, flagged, total)
        for at in order
    ]
    return float(cells.mean()), found


def _patch(
    cells: Mask, stats: npt.NDArray[np.int32], worth: Floats, flagged: Mask, total: int
) -> Patch:
    high, wide = cells.shape
    left, top, width, height, area = (int(value) for value in stats)
    rows, columns = flagged.shape
    part = (
        slice(top * rows // high, -(-(top + height) * rows // high)),
        slice(left * columns // wide, -(-(left + width) * columns // wide)),
    )
    values = worth[part][flagged[part]]
    worst = float(np.quantile(values, 0.98)) if values.size else 0.0
    box = (left / wide, top / high, width / wide, height / high)
    return Patch(*box, share=area / total, worst=worst)


@dataclass(frozen=True)
class Legibility:
    """How text stands in a box: contrast and texture at their worst window.

    `x, y, width, height` are the window with the least contrast, in fractions of the
    box; `texture` is the largest standard deviation of L* in a window.
    """

    contrast: float
    texture: float
    x: float
    y: float
    width: float
    height: float


def legibility(
    rgb: Bytes, *, px_per_mm: float, window_mm: float, text: Bytes = BLACK
) -> Legibility:
    """Slide a window over a type box and keep its worst places.

    Parameters
    ----------
    rgb : uint8 array of shape (rows, columns, 3), what lies in the box
    window_mm : side of the square window
    text : uint8 (3,), the colour of the type

    References
    ----------
    WCAG 2.2, contrast ratio, on the mean light of the window; CIE L* for texture.
    """
    side = max(1, min(round(window_mm * px_per_mm), *rgb.shape[:2]))
    light = _means(relative_luminance(rgb), side)
    lightness = srgb_to_lab(rgb)[..., 0]
    mean = _means(lightness, side)
    spread = np.sqrt(np.maximum(_means(lightness * lightness, side) - mean * mean, 0))
    dark = np.float32(relative_luminance(text))
    ratio = (np.maximum(light, dark) + 0.05) / (np.minimum(light, dark) + 0.05)
    row, column = np.unravel_index(int(ratio.argmin()), ratio.shape)
    rows, columns = rgb.shape[:2]
    return Legibility(
        contrast=float(ratio.min()),
        texture=float(spread.max()),
        x=float(column) / columns,
        y=float(row) / rows,
        width=side / columns,
        height=side / rows,
    )


def _means(values: Floats, side: int) -> Doubles:
    """Means of every whole window of that side: (rows - side + 1, ...)."""
    sums = np.asarray(cv2.integral(values.astype(np.float64)), np.float64)
    total = sums[side:, side:] - sums[:-side, side:] - sums[side:, :-side]
    return np.asarray((total + sums[:-side, :-side]) / side**2)


def against_black(rgb: Bytes) -> Floats:
    """Contrast of black type with colours, uint8 (..., 3); see `contrast_ratio`."""
    return contrast_ratio(rgb, BLACK)
