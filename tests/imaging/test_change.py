"""The change map finds what was planted and keeps quiet about a mere rescan."""

import cv2
import numpy as np
import pytest

from board.errors import SizesDiffer
from board.imaging.change import Region, change_map
from board.imaging.registration import register
from board.imaging.working import seen_from
from tests.imaging.pictures import SIZE, leaning, shot, spread, turned


def laid(newer: np.ndarray, older: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    found = register(newer, older)
    assert found.matrix is not None
    return seen_from(newer, found.matrix, SIZE)


def covers(region: Region, box: tuple[int, int, int, int]) -> bool:
    """Say whether a region lies on a planted box of pixels by more than half."""
    x, y, w, h = box
    wide = min(x + w, (region.x + region.w) * 1000) - max(x, region.x * 1000)
    high = min(y + h, (region.y + region.h) * 500) - max(y, region.y * 500)
    return wide > 0 and high > 0 and wide * high > 0.5 * w * h


@pytest.mark.parametrize(
    "name", ["coffee", "rocket", "chelsea", "immunohistochemistry"]
)
@pytest.mark.parametrize("how", ["rescan", "phone"])
def test_the_same_picture_shot_again_has_hardly_any_change(name: str, how: str) -> None:
    older = spread(name)
    matrix, light = (turned(0.6, 1.01, (4, 3)), 0.02)
    if how == "phone":
        matrix, light = leaning(), 0.15
    newer, mask = laid(shot(older, matrix, (1050, 560), light=light), older)
    found = change_map(older, newer, mask=mask)
    assert sum(region.area for region in found.regions) < 0.004
    assert found.noise_floor < 2.5


def test_planted_edits_are_found_largest_first() -> None:
    older = spread("coffee")
    changed = older.copy()
    changed[120:260, 150:330] = (60, 130, 70)
    cv2.circle(changed, (800, 380), 30, (200, 40, 120), -1)
    newer, mask = laid(shot(changed, turned(0.5, 1.02)), older)
    found = change_map(older, newer, mask=mask).regions
    assert covers(found[0], (150, 120, 180, 140))
    assert covers(found[1], (770, 350, 60, 60))
    assert found[0].mean > 10
    assert len(found) <= 3


def test_a_recolour_of_three_delta_e_is_found() -> None:
    older = spread("chelsea")
    lab = cv2.cvtColor(older, cv2.COLOR_RGB2LAB).astype(np.float32)
    lab[150:330, 380:640] += [2.0, 5.0, -4.0]
    changed = cv2.cvtColor(np.clip(lab, 0, 255).astype(np.uint8), cv2.COLOR_LAB2RGB)
    newer, mask = laid(shot(changed, turned(-0.4, 1.0, (3, 2))), older)
    found = change_map(older, newer, mask=mask).regions
    assert any(covers(region, (380, 150, 260, 180)) for region in found)


def test_a_white_strip_in_the_art_is_a_change_and_a_missing_strip_is_unknown() -> None:
    older = spread("coffee")
    strip = older.copy()
    strip[:, 994:] = 255
    found = change_map(older, strip).regions
    assert len(found) == 1
    assert found[0].x > 0.985
    assert found[0].h > 0.95
    mask = np.full(older.shape[:2], 255, np.uint8)
    mask[:, 990:] = 0
    assert change_map(older, strip, mask=mask).regions == ()


def test_the_same_picture_twice_has_no_change_at_all() -> None:
    older = spread("immunohistochemistry")
    found = change_map(older, older.copy())
    assert found.regions == ()
    assert found.delta.shape == older.shape[:2]
    assert found.delta.max() < 0.5


def test_sizes_must_match() -> None:
    one, two = spread("coffee"), spread("coffee")[:, :900]
    with pytest.raises(SizesDiffer):
        change_map(one, two)
    with pytest.raises(SizesDiffer):
        change_map(one, one, mask=np.ones((10, 10)))


@pytest.mark.parametrize("shape", [(1, 1, 3), (3, 90, 3), (40, 1200, 3)])
def test_tiny_and_narrow_pictures_get_an_answer(shape: tuple[int, ...]) -> None:
    black, white = np.zeros(shape, np.uint8), np.full(shape, 255, np.uint8)
    assert change_map(black, white).delta.shape == shape[:2]
    nothing = np.zeros(shape[:2], np.uint8)
    assert change_map(black, white, mask=nothing).regions == ()


def test_unknown_places_have_no_delta() -> None:
    one = spread("rocket")
    mask = np.zeros(one.shape[:2], bool)
    mask[:, :500] = True
    found = change_map(one, 255 - one, mask=mask)
    assert found.delta[:, 505:].max() == 0
    assert all(region.x + region.w <= 0.505 for region in found.regions)
