"""A matrix from patches that slid, some of them astray."""

import numpy as np

from board.imaging.patches import Slides, agreed
from board.imaging.sheet import apply

# A phone held low over a sheet of 2,000 x 1,000: no stiffer fit holds more than a strip.
LEANING = np.array([[0.8, 0.3, 60.0], [0.02, 0.5, 40.0], [4e-5, 4e-4, 1.0]])


def slides(lot: np.random.Generator, astray: float) -> Slides:
    at = lot.uniform([0, 0], [2000, 1000], (400, 2))
    found = apply(np.linalg.inv(LEANING), at) + lot.normal(0, 0.15, at.shape)
    lost = lot.random(400) < astray
    found[lost] += lot.uniform(-200, 200, (int(lost.sum()), 2))
    return Slides(at, found, np.full(400, 0.9))


def test_patches_of_a_leaning_photo_agree_on_a_perspective() -> None:
    told = slides(np.random.default_rng(5), astray=0.3)

    best = agreed(told, alike=0.5, within=4.0, freedom="projective")

    assert best is not None
    assert best.freedom == "projective"
    good = apply(LEANING, told.found)
    assert np.abs(apply(best.matrix, told.found) - good).max() < 0.4
