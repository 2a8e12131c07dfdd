"""Laying by hand and by word: residuals and refusals, from known truth."""

import numpy as np
import pytest

from board.errors import NotUnderstood
from board.repro import pairs
from board.repro.sheets import SheetSize, carried

SHEET = SheetSize(508, 254, 3)
SIZE = (2000, 1100)
CORNERS = np.array([[0.1, 0.08], [0.92, 0.1], [0.9, 0.93], [0.09, 0.9]])


def _px(places: np.ndarray) -> np.ndarray:
    return np.asarray(places * np.array(SIZE), np.float64)


def test_four_corners_land_on_the_corners_of_the_trim() -> None:
    placed = pairs.by_corners(SIZE, CORNERS, SHEET)
    assert np.allclose(carried(placed.matrix, _px(CORNERS)), pairs.TRIM, atol=1e-9)


@pytest.mark.parametrize("many", [2, 3, 4])
def test_pairs_land_where_they_were_marked(many: int) -> None:
    here = CORNERS[:many]
    turned = pairs.by_pairs(
        SIZE, CORNERS[:2], np.array([[0.05, 0.06], [0.97, 0.05]]), SHEET
    )
    there = carried(turned.matrix, _px(here))
    placed = pairs.by_pairs(SIZE, here, there, SHEET)
    assert np.allclose(carried(placed.matrix, _px(here)), there, atol=1e-9)


def test_the_error_bar_says_how_far_apart_the_marks_were() -> None:
    far = pairs.by_pairs(SIZE, CORNERS, pairs.TRIM, SHEET)
    near_here = 0.5 + (CORNERS - 0.5) * 0.2
    near_there = carried(far.matrix, _px(near_here))
    near = pairs.by_pairs(SIZE, near_here, near_there, SHEET)
    # A hand is off by about 0.7 mm on this sheet; close marks carry that outwards.
    assert 0.5 < far.error_bar_mm < 1.5
    assert near.error_bar_mm > 3 * far.error_bar_mm


def test_a_pair_that_is_far_off_is_named() -> None:
    there = pairs.TRIM.copy()
    there[2] = [0.75, 0.75]
    with pytest.raises(NotUnderstood, match="pair 3"):
        pairs.by_pairs(SIZE, CORNERS, there, SHEET)


@pytest.mark.parametrize(
    "here",
    [
        CORNERS[[1, 0, 3, 2]],  # mirrored
        CORNERS[[0, 2, 1, 3]],  # folded
        np.full((4, 2), 0.5),  # all on one spot
        np.array([[0.1, 0.1], [0.2, 0.2], [0.5, 0.5], [0.9, 0.9]]),  # on one line
    ],
)
def test_marks_that_cannot_be_are_refused_with_what_to_do(here: np.ndarray) -> None:
    with pytest.raises(NotUnderstood, match="Mark"):
        pairs.by_pairs(SIZE, here, pairs.TRIM, SHEET)


def test_a_bled_picture_of_a_32_page_book_lies_edge_to_edge() -> None:
    placed = pairs.by_word((2570, 1300), SHEET, bled=True)
    corner = carried(placed.matrix, np.array([[2570.0, 1300.0]]))[0]
    assert corner == pytest.approx([1 + 3 / 508, 1 + 3 / 254])
    assert placed.error_bar_mm < 0.1


def test_a_slightly_wrong_shape_widens_the_error_bar_and_a_wrong_one_is_refused() -> (
    None
):
    assert pairs.by_word((2595, 1300), SHEET, bled=True).error_bar_mm > 0.5
    with pytest.raises(NotUnderstood, match="four corners"):
        pairs.by_word((2000, 1300), SHEET, bled=True)


def test_a_registration_on_a_copy_is_carried_to_the_full_picture() -> None:
    """Known truth: the same laid picture again, at twice its working size."""
    rect_px = (1048, 540)  # 2 pixels a millimetre, the bled sheet and 5 mm around
    matrix = pairs.upon(
        np.eye(3), newer=(2096, 1080), newer_copy=rect_px, older_copy=rect_px,
        sheet=SHEET,
    )  # fmt: skip
    corner = carried(matrix, np.array([[0.0, 0.0], [2096.0, 1080.0]]))
    assert corner[0] == pytest.approx([-8 / 508, -8 / 254])
    assert corner[1] == pytest.approx([1 + 8 / 508, 1 + 8 / 254])
