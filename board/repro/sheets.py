"""The sheet in numbers: trim from (0, 0) to (1, 1), bleed and margin around it.

Two conventions hold everywhere in repro. Places on a picture count from the *outer
corner* of its top left pixel, so a picture of width w runs from 0 to w and the middle of
its first pixel is 0.5. A 3x3 matrix takes (x, y, 1) in picture pixels to the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from board.errors import NotUnderstood

Matrix = npt.NDArray[np.float64]
Points = npt.NDArray[np.float64]

FACE_DOWN = (
    "Those places turn the picture inside out or fold it. "
    "Mark the corners again, in the order the page asks for."
)


@dataclass(frozen=True)
class SheetSize:
    """The trim across both pages, its bleed, and the margin kept beyond the bleed."""

    width_mm: float
    height_mm: float
    bleed_mm: float
    margin_mm: float = 5.0

    @property
    def around_mm(self) -> float:
        return self.bleed_mm + self.margin_mm


@dataclass(frozen=True)
class Rect:
    """A rectangle in sheet units."""

    x: float
    y: float
    width: float
    height: float


def sheet_rect(sheet: SheetSize) -> Rect:
    """Give what a laid picture covers, in sheet units: bled sheet and margin."""
    x = sheet.around_mm / sheet.width_mm
    y = sheet.around_mm / sheet.height_mm
    return Rect(-x, -y, 1 + 2 * x, 1 + 2 * y)


def bled_matrix(width: int, height: int, sheet: SheetSize) -> Matrix:
    """Lay a picture of that many pixels as the whole bled sheet."""
    x, y = sheet.bleed_mm / sheet.width_mm, sheet.bleed_mm / sheet.height_mm
    return _box(width, height, Rect(-x, -y, 1 + 2 * x, 1 + 2 * y))


def trimmed_matrix(width: int, height: int) -> Matrix:
    """Lay a picture of that many pixels as the trimmed sheet."""
    return _box(width, height, Rect(0, 0, 1, 1))


def _box(width: int, height: int, onto: Rect) -> Matrix:
    return np.array(
        [
            [onto.width / width, 0, onto.x],
            [0, onto.height / height, onto.y],
            [0, 0, 1],
        ]
    )


def to_laid(width: int, height: int, rect: Rect) -> Matrix:
    """Give the matrix from the sheet to the pixels of a laid picture of that size."""
    across, down = width / rect.width, height / rect.height
    return np.array(
        [[across, 0, -rect.x * across], [0, down, -rect.y * down], [0, 0, 1]]
    )


def as_matrix(rows: Sequence[Sequence[float]] | Matrix) -> Matrix:
    """Check nine numbers and scale them so that the last is 1.

    Raises
    ------
    NotUnderstood
        when they are not 3 x 3, not finite or cannot be turned around.
    """
    matrix = np.asarray(rows, dtype=np.float64)
    sound = matrix.shape == (3, 3) and bool(np.isfinite(matrix).all())
    if not sound or abs(matrix[2, 2]) < 1e-12 or abs(np.linalg.det(matrix)) < 1e-300:
        raise NotUnderstood(FACE_DOWN)
    return np.asarray(matrix / matrix[2, 2])


def carried(matrix: Matrix, points: Points) -> Points:
    """Carry points, an array of shape (n, 2), through a matrix."""
    held = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(held[:, :2] / held[:, 2:])


def corners(width: float, height: float) -> Points:
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64)


def require_face_up(matrix: Matrix, width: int, height: int, rect: Rect) -> None:
    """Raise NotUnderstood when the lay folds, mirrors or crosses the horizon."""
    around = corners(rect.width, rect.height) + np.array([rect.x, rect.y])
    for through, places in (
        (matrix, corners(width, height)),
        (np.linalg.inv(matrix), around),
    ):
        depth = np.column_stack([places, np.ones(4)]) @ through[2]
        if depth.min() * depth.max() <= 0:
            raise NotUnderstood(FACE_DOWN)
    laid = carried(matrix, corners(width, height))
    sides = np.roll(laid, -1, axis=0) - laid
    after = np.roll(sides, -1, axis=0)
    if (sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]).min() <= 0:
        raise NotUnderstood(FACE_DOWN)


def pixels_per_mm(matrix: Matrix, width: int, height: int, sheet: SheetSize) -> float:
    """Give the picture's resolution on the sheet, at the middle of the picture."""
    middle = np.array([[width / 2, height / 2]])
    step = np.array([[0.5, 0], [0, 0.5]])
    mm = np.array([sheet.width_mm, sheet.height_mm])
    along = (carried(matrix, middle + step) - carried(matrix, middle - step)) * mm
    area_mm2 = abs(along[0, 0] * along[1, 1] - along[0, 1] * along[1, 0])
    return float(1 / np.sqrt(area_mm2))
