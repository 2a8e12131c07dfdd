"""CIELAB and CIEDE2000 against published pairs and a general reference library."""

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from board.errors import SizesDiffer
from board.imaging.colour import lab_to_srgb, srgb_to_lab
from board.imaging.difference import delta_e_2000

HERE = Path(__file__).parent


def published() -> np.ndarray:
    """Sharma, Wu, Dalal 2005, Table 1; its origin stands at the head of the file."""
    lines = (HERE / "ciede2000_sharma2005.csv").read_text().splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return np.array(rows[1:], dtype=np.float64)[:, 1:]


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_the_34_published_pairs_come_out_both_ways_round(
    kind: type[np.floating[Any]],
) -> None:
    table = published()
    assert len(table) == 34
    one, two = table[:, :3].astype(kind), table[:, 3:6].astype(kind)
    assert np.abs(delta_e_2000(one, two) - table[:, 6]).max() <= 1e-4
    assert np.abs(delta_e_2000(two, one) - table[:, 6]).max() <= 1e-4


def random_pairs(count: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(seed)
    low, high = [0, -120, -120], [100, 120, 120]
    one = dice.uniform(low, high, (count, 3)).astype(np.float32)
    two = dice.uniform(low, high, (count, 3)).astype(np.float32)
    quarter = count // 4
    shrink = dice.uniform(0.2, 1.5, (quarter, 1)).astype(np.float32)
    two[:quarter, 1:] = -one[:quarter, 1:] * shrink
    near = slice(quarter, 2 * quarter)
    two[near] = one[near] + dice.normal(0, 1, (quarter, 3)).astype(np.float32)
    two[2 * quarter : 2 * quarter + 500, 1:] = 0
    return one, two


def test_random_colours_agree_with_scikit_image_opposed_hues_too() -> None:
    """Reference: skimage.color.deltaE_ciede2000, scikit-image 0.26."""
    one, two = random_pairs(200_000, seed=5)
    theirs = deltaE_ciede2000(one.astype(np.float64), two.astype(np.float64))
    assert np.abs(delta_e_2000(one, two) - theirs).max() <= 0.01


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_exactly_opposed_hues_agree_with_scikit_image(
    kind: type[np.floating[Any]],
) -> None:
    """Reference: skimage.color.deltaE_ciede2000; at 180 degrees the formula jumps."""
    dice = np.random.default_rng(9)
    one = dice.uniform([0, -120, -120], [100, 120, 120], (20_000, 3)).astype(kind)
    two = one.copy()
    two[:, 0] = dice.uniform(0, 100, len(two))
    two[:, 1:] = -one[:, 1:]
    two[::2, 1:] *= dice.choice(np.array([0.25, 0.5, 0.7, 2]), (10_000, 1)).astype(kind)
    one[::50, 2] = two[::50, 2] = 0  # along one axis
    one[1::50, 1] = two[1::50, 1] = 0
    theirs = deltaE_ciede2000(one.astype(np.float64), two.astype(np.float64))
    assert np.abs(delta_e_2000(one, two) - theirs).max() <= 1e-3


def test_a_colour_is_no_distance_from_itself_and_order_does_not_matter() -> None:
    one, two = random_pairs(4_000, seed=6)
    assert delta_e_2000(one, one).max() == 0
    grey = np.zeros((5, 4, 3), np.float32)
    assert delta_e_2000(grey, grey).shape == (5, 4)
    assert np.allclose(
        delta_e_2000(one[1000:], two[1000:]),
        delta_e_2000(two[1000:], one[1000:]),
        atol=2e-3,
    )


def test_pictures_of_different_size_are_refused() -> None:
    with pytest.raises(SizesDiffer):
        delta_e_2000(np.zeros((2, 2, 3), np.float32), np.zeros((2, 3, 3), np.float32))


def test_srgb_red_in_lab_is_what_profiles_say() -> None:
    """Little CMS: transicc -i*sRGB -o*Lab of 255 0 0 gives 54.290 80.814 69.890."""
    red = np.array([[[255, 0, 0]]], np.uint8)
    assert np.allclose(srgb_to_lab(red), [[[54.290, 80.814, 69.890]]], atol=0.01)


def test_white_and_black_are_neutral_and_floats_match_bytes() -> None:
    ends = np.array([[[255, 255, 255], [0, 0, 0], [119, 119, 119]]], np.uint8)
    lab = srgb_to_lab(ends)
    assert np.allclose(lab[0, :2], [[100, 0, 0], [0, 0, 0]], atol=1e-3)
    assert np.abs(lab[..., 1:]).max() < 1e-2
    shares = (ends / 255).astype(np.float32)
    assert np.allclose(lab, srgb_to_lab(shares), atol=1e-3)


def test_lab_goes_back_to_the_same_bytes() -> None:
    every = np.random.default_rng(8).integers(0, 256, (5_000, 3)).astype(np.uint8)
    assert (lab_to_srgb(srgb_to_lab(every)) == every).all()
