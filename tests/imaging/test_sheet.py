"""Laying points on a sheet."""

import cv2
import numpy as np
import pytest

from board.errors import NotUnderstood
from board.imaging import sheet

SQUARE = np.array([[0, 0], [400, 0], [400, 200], [0, 200]], float)
TILTED = np.array([[12, 7], [391, 22], [402, 214], [3, 190]], float)


def test_two_pairs_turn_scale_and_slide_only() -> None:
    matrix = sheet.from_points(SQUARE[:2], [[10, 10], [10, 410]])
    assert np.allclose(sheet.apply(matrix, [[0, 100]]), [[-90, 10]])


def test_three_pairs_give_the_affine_that_opencv_gives() -> None:
    """Reference: cv2.getAffineTransform."""
    theirs = cv2.getAffineTransform(
        SQUARE[:3].astype(np.float32), TILTED[:3].astype(np.float32)
    )
    assert np.allclose(sheet.from_points(SQUARE[:3], TILTED[:3])[:2], theirs, atol=1e-6)


def test_four_pairs_give_the_perspective_that_opencv_gives() -> None:
    """Reference: cv2.getPerspectiveTransform."""
    theirs = cv2.getPerspectiveTransform(
        SQUARE.astype(np.float32), TILTED.astype(np.float32)
    )
    mine = sheet.from_points(SQUARE, TILTED)
    assert np.allclose(mine, theirs / theirs[2, 2], atol=1e-8)
    assert sheet.residuals(mine, SQUARE, TILTED).max() < 1e-9


def test_one_stray_among_many_pairs_does_not_bend_the_sheet() -> None:
    dice = np.random.default_rng(1)
    truth = sheet.from_points(SQUARE, TILTED)
    src = dice.uniform([0, 0], [400, 200], (20, 2))
    dst = sheet.apply(truth, src)
    dst[4] += 80
    assert sheet.residuals(sheet.from_points(src, dst), SQUARE, TILTED).max() < 0.1


@pytest.mark.parametrize(
    "src",
    [
        [[1, 1]],
        [[1, 1], [1, 1]],
        [[0, 0], [1, 1], [2, 2]],
        [[0, 0], [5, 0], [9, 0], [7, 0]],
    ],
)
def test_points_that_fix_nothing_are_refused_in_words(src: list[list[float]]) -> None:
    with pytest.raises(NotUnderstood, match=r"[Mm]ark"):
        sheet.from_points(src, src)


def test_sane_means_no_fold_no_mirror_no_sliver() -> None:
    size = (400, 200)
    assert sheet.is_sane(sheet.from_points(SQUARE, TILTED), size)
    assert sheet.is_sane(np.diag([-1.0, -1.0, 1.0]), size)
    mirror = np.diag([-1.0, 1.0, 1.0])
    assert not sheet.is_sane(mirror, size)
    assert sheet.is_sane(mirror, size, mirrored=True)
    assert not sheet.is_sane(np.diag([1.0, 0.1, 1.0]), size)
    folded = np.array([[1, 0, 0], [0, 1, 0], [0.01, 0, -1]])
    assert not sheet.is_sane(folded, size)
    assert not sheet.is_sane(np.full((3, 3), np.nan), size)
    assert not sheet.is_sane(np.zeros((3, 3)), size)
