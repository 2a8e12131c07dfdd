"""Laying pictures on one another: known truth, and refusal of what has none."""

import cv2
import numpy as np
import pytest

from board.imaging.registration import register
from board.imaging.sheet import apply
from board.imaging.working import shrunk
from fixtures.drawing import SHOTS, draw_revision, landing, shoot
from tests.imaging.pictures import (
    dashed,
    furthest_off,
    leaning,
    pencilled,
    shot,
    spread,
    turned,
)

NAMES = ["coffee", pytest.param("rocket", marks=pytest.mark.slow)]
KNOWN = {
    "slid by (3, -2)": (turned(0, 1, (3, -2)), (1000, 500), 0.0),
    "a rescan": (turned(0.8, 0.97, (12, 7)), (1040, 520), 0.02),
    "a phone's photo": (leaning(), (1050, 560), 0.2),
    "upside down": (turned(180), (1000, 500), 0.0),
    "a quarter turn": (
        np.array([[0.0, -1, 499], [1, 0, 0], [0, 0, 1]]),
        (500, 1000),
        0.0,
    ),
    "twice as large": (np.diag([2.0, 2.0, 1.0]), (2000, 1000), 0.0),
}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("how", KNOWN)
def test_the_same_picture_is_laid_within_three_ten_thousandths(
    how: str, name: str
) -> None:
    older = spread(name)
    matrix, size, light = KNOWN[how]
    found = register(shot(older, matrix, size, light=light), older)
    assert found.matrix is not None, found.reason
    assert furthest_off(found.matrix, matrix) < 3e-4
    assert found.confidence > 0.9
    assert found.error_bar < 1e-3


def test_a_detail_is_laid_where_it_belongs() -> None:
    older = spread("coffee")
    matrix = np.array([[2.2, 0, -700], [0, 2.2, -250], [0, 0, 1]])
    newer = shot(older, matrix, (1000, 600))
    found = register(newer, older)
    assert found.matrix is not None
    corners = np.array([[[0, 0], [999, 0], [999, 599], [0, 599]]], np.float64)
    off = cv2.perspectiveTransform(corners, found.matrix)
    off -= cv2.perspectiveTransform(corners, np.linalg.inv(matrix))
    assert np.abs(off).max() < 0.3


def test_half_the_sheet_cut_off_is_laid_all_the_same() -> None:
    older = spread("rocket")
    found = register(np.ascontiguousarray(older[:, :520]), older)
    assert found.matrix is not None
    assert np.abs(found.matrix - np.eye(3))[:2, 2].max() < 0.2


@pytest.mark.slow
def test_a_hand_in_the_photo_and_a_repainted_part_do_not_mislead() -> None:
    older = spread("chelsea")
    changed = older.copy()
    cv2.ellipse(changed, (250, 430), (120, 200), 20, 0, 360, (214, 160, 130), -1)
    changed[100:300, 650:800] = (40, 90, 60)
    matrix = turned(-1.2, 1.02, (5, 4))
    found = register(shot(changed, matrix), older)
    assert found.matrix is not None
    assert furthest_off(found.matrix, matrix) < 5e-4


@pytest.mark.slow
def test_grey_lies_on_colour() -> None:
    older = spread("coffee")
    grey = np.repeat(cv2.cvtColor(older, cv2.COLOR_RGB2GRAY)[..., None], 3, axis=2)
    found = register(shot(grey, turned(1)), older)
    assert found.matrix is not None
    assert furthest_off(found.matrix, turned(1)) < 5e-4


@pytest.mark.slow
def test_a_picture_upside_down_is_laid_the_right_way_up() -> None:
    older = spread("chelsea")
    truth = turned(180, 0.95)
    found = register(shot(older, truth), older)
    assert found.matrix is not None
    assert furthest_off(found.matrix, truth) < 4e-4


def test_the_same_picture_twice_is_where_it_is() -> None:
    older = spread("immunohistochemistry")
    found = register(older.copy(), older)
    assert found.matrix is not None
    assert np.abs(found.matrix - np.eye(3)).max() < 0.02


@pytest.mark.parametrize("name", NAMES)
def test_paint_is_laid_on_its_own_pencil_sketch(name: str) -> None:
    art = spread(name)
    matrix = turned(0.7, 1.03, (8, -5))
    found = register(
        shot(art, matrix, (1020, 520)), pencilled(art), across_manners=True
    )
    assert found.matrix is not None, found.reason
    assert furthest_off(found.matrix, matrix) < 4e-3


@pytest.mark.parametrize(
    "name",
    [
        "chelsea",
        *(
            pytest.param(n, marks=pytest.mark.slow)
            for n in ("coffee", "rocket", "coins")
        ),
    ],
)
def test_paint_is_laid_on_a_few_short_strokes(name: str) -> None:
    """Truth: the matrix of each warp; a scan has no perspective, a slant has."""
    art = spread(name)
    sketch = dashed(art)
    for matrix, slanting in ((turned(0.7, 1.03, (8, -5)), False), (leaning(), True)):
        found = register(shot(art, matrix, (1020, 520)), sketch, across_manners=True)
        assert found.matrix is not None, found.reason
        assert furthest_off(found.matrix, matrix) < min(0.0025, found.error_bar)
        assert bool(np.abs(found.matrix[2, :2]).max() > 1e-5) is slanting


def test_two_strangers_are_refused_in_words() -> None:
    found = register(spread("coffee"), spread("rocket"))
    assert found.matrix is None
    assert "by hand" in found.reason
    assert not found.mirrored


@pytest.mark.slow
def test_one_clipping_in_two_pictures_is_not_enough() -> None:
    one, two, source = spread("coffee"), spread("rocket"), spread("chelsea")
    one[60:260, 100:420] = two[240:440, 560:880] = source[100:300, 300:620]
    assert register(two, one).matrix is None


def test_a_mirrored_picture_is_named_and_not_laid() -> None:
    older = spread("coffee")
    found = register(np.ascontiguousarray(older[:, ::-1]), older)
    assert found.matrix is None
    assert found.mirrored
    assert "mirrored" in found.reason


@pytest.mark.parametrize("other", ["newer", "older"])
@pytest.mark.parametrize(
    ("picture", "word"),
    [
        (np.full((500, 1000, 3), 255, np.uint8), "blank"),
        (np.full((400, 700, 3), (200, 30, 90), np.uint8), "one colour"),
        (np.zeros((1, 1, 3), np.uint8), "too small"),
        (np.zeros((4, 900, 3), np.uint8), "too small"),
    ],
)
def test_pictures_that_show_nothing_are_refused_in_words(
    picture: np.ndarray, word: str, other: str
) -> None:
    good = spread("coffee")
    pair = (picture, good) if other == "newer" else (good, picture)
    found = register(*pair)
    assert found.matrix is None
    assert word in found.reason
    assert other in found.reason


def test_blank_paper_with_grain_is_refused() -> None:
    dice = np.random.default_rng(2)
    paper = dice.normal(240, 2, (500, 1000, 3)).clip(0, 255).astype(np.uint8)
    assert register(paper, spread("coffee")).matrix is None
    assert register(spread("coffee"), paper).matrix is None


@pytest.mark.slow
def test_a_strip_of_thirty_to_one_gets_an_answer() -> None:
    older = spread("coffee")
    strip = np.ascontiguousarray(older[200:233])
    found = register(strip, older)
    assert found.matrix is None or np.abs(found.matrix[:2, 2] - [0, 200]).max() < 2
    assert register(strip, strip).confidence >= 0


@pytest.mark.slow
@pytest.mark.parametrize("item", ["8-9", "10-11"])
def test_what_is_laid_by_structure_alone_is_never_called_sure(item: str) -> None:
    """Truth: how the book's own program shot it; the bar holds, and it is narrow."""
    older, _ = shrunk(draw_revision(item, "sk2"), 2000)
    art = draw_revision(item, "wa1")
    photo, back = shrunk(shoot(art, SHOTS[item, "wa1"]), 2000)
    found = register(photo, older, across_manners=True)
    assert found.matrix is not None
    assert found.confidence <= 0.7
    high, wide = art.shape[:2]
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], float)
    true, *_ = landing(SHOTS[item, "wa1"], wide, high)
    seen = apply(found.matrix @ np.linalg.inv(back) @ true, corners)
    wanted = corners * older.shape[1] / wide
    off = np.hypot(*(seen - wanted).T).max() / np.hypot(*older.shape[:2])
    assert off <= found.error_bar, (off, found.error_bar)
    assert off <= 0.005
