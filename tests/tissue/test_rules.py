"""Marks on the sheet, and pairs of directions that may clash."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from board.errors import NotUnderstood, OffTheSheet
from board.tissue.rules import (
    NoteDraft,
    Placed,
    Region,
    Sheet,
    area_of,
    checked,
    clash_candidates,
    clipped,
    clockwise,
    overlap,
    region_of,
)

SHEET = Sheet(width_mm=508, height_mm=254, bleed_mm=3.175)
NOTES = Path(__file__).parents[2] / "fixtures" / "notes.json"
near = st.floats(-0.5, 1.5, allow_nan=False)


@given(st.tuples(near, near), st.tuples(near, near))
def test_a_box_never_leaves_the_bled_sheet(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    try:
        (x1, y1), (x2, y2) = clipped("box", [one, other], SHEET)
    except (OffTheSheet, NotUnderstood):
        return
    across, down = SHEET.bleed
    assert -across - 1e-6 <= x1 <= x2 <= 1 + across + 1e-6
    assert -down - 1e-6 <= y1 <= y2 <= 1 + down + 1e-6


def test_a_mark_beside_the_sheet_is_refused() -> None:
    with pytest.raises(OffTheSheet):
        clipped("point", [[1.4, 0.5]], SHEET)


def test_a_mark_in_the_bleed_is_kept() -> None:
    assert clipped("point", [[1.005, 0.5]], SHEET) == [[1.005, 0.5]]


@pytest.mark.parametrize(
    ("mark", "points"),
    [
        ("point", []),
        ("box", [[0.1, 0.1]]),
        ("box", [[0.1, 0.1], [0.1, 0.4]]),
        ("loop", [[0.1, 0.1], [0.2, 0.2]]),
        ("point", [["left", "top"]]),
        ("point", [[float("nan"), 0.5]]),
        ("arrow", [[0.1, 0.1]]),
        ("loop", [[0.1, 0.1]] * 500),
    ],
)
def test_a_mark_that_makes_no_sense_says_so(mark: str, points: list[object]) -> None:
    with pytest.raises(NotUnderstood):
        clipped(mark, points, SHEET)  # type: ignore[arg-type]  # hostile on purpose


@pytest.mark.parametrize("words", ["", "   ", "\n"])
def test_a_note_needs_words(words: str) -> None:
    with pytest.raises(NotUnderstood, match="needs words"):
        checked(NoteDraft("direction", words), SHEET)


def test_words_may_run_from_right_to_left_and_combine() -> None:
    words = "שלום é a\u0308 👩🏽‍🎨"
    assert checked(NoteDraft("comment", words), SHEET).words == words


def test_a_point_counts_as_a_disc_of_three_percent_of_the_page() -> None:
    region = region_of("point", [[0.5, 0.5]], SHEET)
    assert region is not None
    assert region.width * SHEET.width_mm == pytest.approx(0.03 * 254)
    assert region.height * SHEET.height_mm == pytest.approx(0.03 * 254)


def test_a_loop_has_the_area_it_encloses() -> None:
    triangle = [[0.0, 0.0], [0.4, 0.0], [0.0, 0.2]]
    assert area_of("loop", triangle, SHEET) == pytest.approx(0.04)


def test_a_polygon_is_measured_like_a_loop_and_may_not_be_a_line() -> None:
    triangle = [[0.1, 0.1], [0.5, 0.1], [0.1, 0.3]]
    assert clipped("polygon", triangle, SHEET) == triangle
    assert area_of("polygon", triangle, SHEET) == pytest.approx(0.04)
    with pytest.raises(NotUnderstood, match="no area"):
        clipped("polygon", [[0.1, 0.1], [0.2, 0.2], [0.3, 0.3]], SHEET)


def test_overlap_is_measured_on_the_smaller_region() -> None:
    big, small = Region(0, 0, 1, 1), Region(0.9, 0.9, 0.2, 0.2)
    assert overlap(big, small) == pytest.approx(0.25)


def test_the_offered_pairs_are_those_of_the_demo_book() -> None:
    """Check values: the demo book's list of pairs, both ways (all open at once)."""
    told = json.loads(NOTES.read_text("utf-8"))
    notes = {row["no"]: row for row in told["notes"]}
    for pair in told["pairs_offered"]:
        one, other = pair["pair"]
        found = clash_candidates([_placed(notes[one]), _placed(notes[other])], NONE)
        assert len(found) == 1, (one, other)


NONE: frozenset[frozenset[str]] = frozenset()


def _placed(row: dict[str, object]) -> Placed:
    x, y, width, height = row["region"]  # type: ignore[misc]  # four numbers
    corners = clipped("box", [[x, y], [x + width, y + height]], SHEET)  # type: ignore[has-type]
    return Placed(str(row["no"]), str(row["by"]), region_of("box", corners, SHEET))


def test_a_ruled_pair_is_not_offered_again() -> None:
    one = Placed("a", "HN", Region(0, 0, 0.5, 0.5))
    other = Placed("b", "DC", Region(0, 0, 0.5, 0.5))
    assert clash_candidates([one, other], frozenset({frozenset({"a", "b"})})) == []


def test_the_same_writer_never_clashes_with_himself() -> None:
    one = Placed("a", "HN", Region(0, 0, 0.5, 0.5))
    other = Placed("b", "HN", Region(0, 0, 0.5, 0.5))
    assert clash_candidates([one, other], NONE) == []


def test_a_region_of_the_whole_sheet_is_never_a_candidate() -> None:
    one = Placed("a", "HN", Region(0, 0, 1, 0.9))
    other = Placed("b", "DC", Region(0, 0, 0.5, 0.5))
    assert clash_candidates([one, other], NONE) == []


def test_notes_are_read_clockwise_from_twelve() -> None:
    top, right, low, left = [[0.52, 0.1]], [[0.8, 0.4]], [[0.5, 0.9]], [[0.1, 0.4]]
    assert sorted([low, right, left, top], key=clockwise) == [top, right, low, left]
