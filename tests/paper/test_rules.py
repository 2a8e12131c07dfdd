"""Tiles, overlaps and labels of what is printed."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from board.errors import NotUnderstood
from board.paper.rules import (
    OVERLAP_MM,
    PAPERS,
    QUIET_MM,
    Art,
    Box,
    label_places,
    tiling,
)

SPREAD = Art(508.0, 254.0, 3.175, percent=110.0)


def test_art_painted_ten_per_cent_up_is_as_large_as_reckoned_by_hand() -> None:
    # (20 + 2/8) x 1.1 = 22.275 in and (10 + 2/8) x 1.1 = 11.275 in, bled.
    assert SPREAD.bled.width == pytest.approx(22.275 * 25.4)
    assert SPREAD.bled.height == pytest.approx(11.275 * 25.4)
    assert SPREAD.trim.width == pytest.approx(22 * 25.4)
    assert SPREAD.at(0.5, 0.0) == pytest.approx(
        (QUIET_MM + 1.1 * (3.175 + 254.0), QUIET_MM + 1.1 * 3.175)
    )


@given(
    width=st.floats(100, 700),
    height=st.floats(100, 400),
    percent=st.floats(50, 150),
    paper=st.sampled_from(sorted(PAPERS)),
)
def test_tiles_cover_the_whole_plane_and_overlap_enough(
    width: float, height: float, percent: float, paper: str
) -> None:
    art = Art(width, height, 3.0, percent=percent)
    spread = tiling(art, paper)
    whole = art.size_mm
    lefts = sorted({one.x for one in spread.windows})
    tops = sorted({one.y for one in spread.windows})
    assert (len(lefts), len(tops)) == (spread.columns, spread.rows)
    for starts, size, window in (
        (lefts, whole[0], spread.windows[0].width),
        (tops, whole[1], spread.windows[0].height),
    ):
        assert starts[0] <= 1e-6
        assert starts[-1] + window >= size - 1e-6
        for one, other in pairwise(starts):
            assert one + window - other >= OVERLAP_MM - 1e-6


def test_a_spread_takes_fewer_of_the_larger_paper() -> None:
    assert tiling(SPREAD, "a3").many < tiling(SPREAD, "a4").many
    assert tiling(SPREAD, "own").many == 1


def test_paper_that_is_none_is_refused_in_words() -> None:
    with pytest.raises(NotUnderstood, match="A4"):
        tiling(SPREAD, "parchment")


def test_labels_stay_inside_the_art_and_off_each_other() -> None:
    within = Box(0, 0, 300, 150)
    regions = [Box(20 + 60 * step, 40, 50, 40) for step in range(4)]
    labels = label_places(regions, within)
    for number, label in enumerate(labels):
        assert label.shared_with(within) == label
        assert not any(
            label.shared_with(other) for at, other in enumerate(labels) if at != number
        )


def test_a_label_whose_region_fills_the_art_is_still_written() -> None:
    whole = Box(0, 0, 300, 150)
    assert label_places([whole], whole)[0].shared_with(whole)
