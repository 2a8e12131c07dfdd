"""Points that look the same, in a picture and in its mirror."""

import numpy as np

from board.imaging import features
from tests.imaging.pictures import spread


def test_mirrored_points_are_those_of_the_mirrored_picture() -> None:
    picture = spread("coffee")
    told = features.mirrored(*features.found(picture), picture.shape[1])

    looked = features.found(np.ascontiguousarray(picture[:, ::-1]))

    pairs = features.matched(told[1], looked[1])
    off = np.hypot(*(told[0][pairs[:, 0]] - looked[0][pairs[:, 1]]).T)
    assert len(pairs) > 0.8 * len(looked[0])
    # The finder itself sets its points a quarter of a pixel to one side.
    assert np.mean(off < 0.8) > 0.95
