"""Laying by word, by corners, by marked pairs, or on top of an older laid picture.

Places and matrices as in `sheets`: picture pixels from the outer corner, taken to the
sheet whose trim runs from (0, 0) to (1, 1).
"""

from dataclasses import dataclass

import numpy as np

from board.errors import NotUnderstood
from board.imaging import sheet as fitting
from board.repro.sheets import (
    Matrix,
    Points,
    SheetSize,
    as_matrix,
    bled_matrix,
    carried,
    corners,
    require_face_up,
    sheet_rect,
    to_laid,
    trimmed_matrix,
)

MARK = 1e-3  # a hand marks within a thousandth of the view's width
MOST_STRETCH = 0.02
MOST_ODD = 0.08  # of the sheet's diagonal; a steep photo bends pairs by 2 or 3 per cent
TRIM = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float64)
SHIFT = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])  # pixel middles to corners


@dataclass(frozen=True)
class Placed:
    """Where a picture lies, and how far a place may be off on the printed page."""

    matrix: Matrix
    error_bar_mm: float


def _mm(sheet: SheetSize) -> Points:
    return np.array([sheet.width_mm, sheet.height_mm], np.float64)


def by_word(size: tuple[int, int], sheet: SheetSize, *, bled: bool) -> Placed:
    """Lay a picture by what it is said to show.

    Parameters
    ----------
    size : (width, height) in pixels.
    bled : it shows the whole bled sheet, else exactly the trim.

    Returns
    -------
    Placed; the error bar is half of what the picture's shape differs from the sheet's.

    Raises
    ------
    NotUnderstood
        when the shapes differ by more than 2 %, so the word cannot be true.
    """
    around = 2 * sheet.bleed_mm if bled else 0.0
    wide, high = sheet.width_mm + around, sheet.height_mm + around
    stretch = (size[0] / size[1]) / (wide / high)
    if abs(np.log(stretch)) > np.log1p(MOST_STRETCH):
        said = "the whole bled sheet" if bled else "cut to the trim"
        raise NotUnderstood(
            f"The picture is said to show {said}, but its shape differs: it is "
            f"{size[0] / size[1]:.2f} times as wide as high, the sheet "
            f"{wide / high:.2f}. Tap the four corners of the trim instead."
        )
    matrix = bled_matrix(*size, sheet) if bled else trimmed_matrix(*size)
    return Placed(matrix, abs(stretch - 1) * min(wide, high) / 2)


def by_corners(size: tuple[int, int], here: Points, sheet: SheetSize) -> Placed:
    """Lay a picture by the trim's four corners, clockwise from the top left.

    Parameters
    ----------
    size : (width, height) in pixels.
    here : float array of shape (4, 2), fractions of the picture.
    """
    return by_pairs(size, here, TRIM, sheet)


def by_pairs(
    size: tuple[int, int], here: Points, there: Points, sheet: SheetSize
) -> Placed:
    """Lay a picture by 2 to 4 places marked on it and on the sheet.

    Parameters
    ----------
    size : (width, height) in pixels.
    here, there : float arrays of shape (n, 2), fractions of the picture and the sheet.

    Returns
    -------
    Placed; the error bar is the largest error at a corner of the trim when every mark
    is off by a thousandth of the width, carried through the fit.

    Raises
    ------
    NotUnderstood
        when marks lie on one spot or line, turn the picture over, or disagree.
    """
    onto = np.asarray(there, np.float64) * _mm(sheet)
    marks = np.asarray(here, np.float64) * np.array(size)
    matrix = fitting.from_points(marks, onto)
    require_face_up(_to_sheet(matrix, sheet), *size, sheet_rect(sheet))
    _require_agreement(marks, onto, sheet)
    return Placed(_to_sheet(matrix, sheet), _marking_error(marks, onto, sheet))


def _to_sheet(to_mm: Matrix, sheet: SheetSize) -> Matrix:
    return as_matrix(np.diag([1 / sheet.width_mm, 1 / sheet.height_mm, 1]) @ to_mm)


def _require_agreement(marks: Points, onto: Points, sheet: SheetSize) -> None:
    """Refuse pairs of which one is far off: the others would bend to it."""
    if len(marks) < 3:
        return
    stiff = fitting.fit(marks, onto, np.ones(len(marks)), "similarity")
    off = fitting.residuals(stiff, marks, onto)
    if off.max() > MOST_ODD * float(np.hypot(*_mm(sheet))):
        worst = int(off.argmax()) + 1
        raise NotUnderstood(
            f"The pairs do not fit together: pair {worst} is off by about "
            f"{off.max():.0f} mm. Mark it again on both pictures."
        )


def _marking_error(marks: Points, onto: Points, sheet: SheetSize) -> float:
    """Carry the error of marking through the fit to the trim's corners, in mm."""
    slip = MARK * sheet.width_mm * 2**0.5
    trim = np.asarray(TRIM * _mm(sheet), np.float64)
    turned = np.asarray(np.linalg.inv(fitting.from_points(marks, onto)), np.float64)
    back = carried(turned, trim)
    total = np.zeros(4)
    for at in range(len(onto)):
        for axis in (0, 1):
            moved = onto.copy()
            moved[at, axis] += slip
            off = fitting.residuals(fitting.from_points(marks, moved), back, trim)
            total += off**2
    return float(np.sqrt(total.max()))


def upon(
    onto_older: Matrix,
    *,
    newer: tuple[int, int],
    newer_copy: tuple[int, int],
    older_copy: tuple[int, int],
    sheet: SheetSize,
) -> Matrix:
    """Lay a picture that was registered on an older laid one.

    Parameters
    ----------
    onto_older : 3x3, from pixels of the newer working copy to pixels of the older laid
        one's, both counted from pixel middles.
    newer, newer_copy, older_copy : (width, height) of the newer picture, its working
        copy, and the working copy of the older laid picture.
    """
    reduce = np.diag([newer_copy[0] / newer[0], newer_copy[1] / newer[1], 1.0])
    to_corners = SHIFT @ onto_older @ np.linalg.inv(SHIFT)
    off_laid = np.linalg.inv(to_laid(*older_copy, sheet_rect(sheet)))
    return as_matrix(off_laid @ to_corners @ reduce)


def apart_mm(
    one: Matrix, other: Matrix, size: tuple[int, int], sheet: SheetSize
) -> float:
    """How far two layings of one picture differ at its corners, in mm on the page."""
    places = corners(*size)
    off = (carried(one, places) - carried(other, places)) * _mm(sheet)
    return float(np.hypot(off[:, 0], off[:, 1]).max())


def mm_per_pixel(older_copy: tuple[int, int], sheet: SheetSize) -> float:
    """How much of the printed page a pixel of a laid working copy shows."""
    return (sheet.width_mm + 2 * sheet.around_mm) / older_copy[0]
