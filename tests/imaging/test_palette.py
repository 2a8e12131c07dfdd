"""Main colours against scikit-learn's k-means and scikit-image's Lab."""

import cv2
import numpy as np
import pytest
from skimage import data
from skimage.color import rgb2lab
from sklearn.cluster import KMeans
from threadpoolctl import threadpool_limits

from board.imaging.colour import srgb_to_lab
from board.imaging.palette import alike, composition, palette, tones

PICTURES = ("immunohistochemistry", "chelsea", "coffee", "rocket")


def small(name: str) -> np.ndarray:
    picture = getattr(data, name)()
    return np.asarray(cv2.resize(picture, (96, 48), interpolation=cv2.INTER_AREA))


def flags(*shares: tuple[tuple[int, int, int], int]) -> np.ndarray:
    """Stand stripes of plain colours side by side, so many columns each."""
    stripes = [np.full((40, wide, 3), rgb, np.uint8) for rgb, wide in shares]
    return np.hstack(stripes)


def test_plain_colours_come_back_with_their_areas_largest_first() -> None:
    picture = flags(((180, 40, 30), 20), ((240, 235, 220), 50), ((30, 60, 120), 30))
    colours, areas = palette(srgb_to_lab(picture), 5)
    assert areas.tolist() == pytest.approx([0.5, 0.3, 0.2])
    goal = rgb2lab(
        np.array([[[240, 235, 220], [30, 60, 120], [180, 40, 30]]], np.uint8),
        illuminant="D50",
    )
    # Another way from sRGB to D50 (scikit-image rescales XYZ) is a little apart.
    assert np.abs(colours[:, 0] - goal[0, :, 0]).max() < 1.5
    assert np.abs(colours - srgb_to_lab(picture[:1, [40, 90, 5]])[0]).max() < 0.01


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("k", [5, 7])
def test_it_fits_as_well_as_the_best_of_ten_runs_of_scikit_learn(
    name: str, k: int
) -> None:
    lab = rgb2lab(small(name)).reshape(-1, 3).astype(np.float32)
    colours, areas = palette(lab, k)
    with threadpool_limits(1):
        reference = KMeans(k, n_init=10, random_state=1).fit(lab)
    off = ((lab[:, None] - colours[None]) ** 2).sum(axis=2).min(axis=1).sum()
    assert off <= 1.06 * reference.inertia_
    assert areas.sum() == pytest.approx(1)
    assert (np.diff(areas) <= 0).all()
    again = palette(lab.copy(), k)
    assert (colours == again[0]).all()


def test_a_rescan_has_much_the_same_colours() -> None:
    picture = small("coffee").astype(np.float32)
    noise = np.random.default_rng(5).normal(0, 3, picture.shape)
    again = np.clip(picture + noise, 0, 255).astype(np.uint8)
    (one, areas), (two, areas2) = (
        palette(srgb_to_lab(p.astype(np.uint8)), 5) for p in (picture, again)
    )
    assert np.linalg.norm(one - two, axis=1).max() < 3
    assert np.abs(areas - areas2).max() < 0.05


def test_nothing_and_one_colour_have_a_palette_too() -> None:
    assert palette(np.empty((0, 3), np.float32), 5)[0].shape == (0, 3)
    colours, areas = palette(srgb_to_lab(flags(((90, 90, 90), 30))), 6)
    assert len(colours) == 1
    assert areas.tolist() == [1]
    masked = flags(((255, 0, 0), 30), ((0, 0, 255), 30))
    mask = np.zeros(masked.shape[:2])
    mask[:, :30] = 1
    assert len(palette(srgb_to_lab(masked), 4, mask)[0]) == 1


def test_tones_say_how_dark_and_how_warm() -> None:
    found = tones(srgb_to_lab(flags(((20, 20, 20), 10), ((235, 235, 235), 30))))
    assert (found.dark, found.middle, found.light) == pytest.approx((0.25, 0, 0.75))
    assert abs(found.warmth) < 0.01
    orange = tones(srgb_to_lab(flags(((230, 120, 20), 10))))
    blue = tones(srgb_to_lab(flags(((30, 70, 200), 10))))
    assert orange.warmth > 1 > -1 > blue.warmth


def test_a_composition_survives_new_colours_and_not_a_new_plan() -> None:
    layouts = [composition(srgb_to_lab(small(name))) for name in PICTURES]
    for name, layout in zip(PICTURES, layouts, strict=True):
        other = small(name)[..., ::-1].astype(np.float32) * 0.85 + 20
        tinted = composition(srgb_to_lab(other.astype(np.uint8)))
        assert alike(layout, tinted) > 0.8, name
        mirrored = composition(srgb_to_lab(small(name)[:, ::-1]))
        assert alike(layout, mirrored) < 0.7, name
    strangers = [
        alike(layouts[i], layouts[j]) for i in range(4) for j in range(i + 1, 4)
    ]
    assert max(strangers) < 0.6
    assert alike(layouts[0], layouts[0]) == pytest.approx(1, abs=1e-5)


def test_a_flat_picture_has_no_composition() -> None:
    flat = composition(srgb_to_lab(flags(((200, 180, 90), 60))))
    assert flat.shape == (2, 4, 8)
    assert not flat.any()
    assert alike(flat, flat) == 0
