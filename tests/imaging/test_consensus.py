"""Climbing together: a drawing's painted version is laid by what all patches say."""

import cv2
import numpy as np
import pytest

from board.imaging.consensus import together
from board.imaging.registration import LINES
from board.imaging.sheet import inverse
from tests.imaging import pictures as art


@pytest.mark.parametrize(
    "name", ["coffee", pytest.param("chelsea", marks=pytest.mark.slow)]
)
def test_a_rough_lay_of_paint_on_pencil_climbs_to_the_truth(name: str) -> None:
    """Truth: the matrix the picture was warped with."""
    painted = art.spread(name)
    truth = art.leaning()
    photo = art.shot(painted, truth, light=0.1)
    rough = inverse(truth)
    rough[:2, 2] += (6, -5)
    found = together(photo, art.pencilled(painted), rough, LINES)
    assert found is not None
    off = art.furthest_off(found.matrix, truth)
    assert off < 0.002
    assert off * np.hypot(1000, 500) < 3.5 * found.error


def test_blank_paper_has_nothing_to_climb_by() -> None:
    paper = np.full((400, 800, 3), 240, np.uint8)
    cv2.circle(paper, (400, 200), 3, (30, 30, 30), -1)
    assert together(paper, paper, np.eye(3), LINES) is None
