"""Areas on the sheet, layered places, and cells that no spreadsheet runs."""

import pytest
from skimage.draw import polygon2mask

from board.clippings.rules import Bled, area_cm2, on_one_place, outline, plain_cell
from board.errors import NotUnderstood

SPREAD = Bled(508, 254, 3)


def test_a_box_has_its_area_in_square_centimetres() -> None:
    # 10 % of 508 mm by 10 % of 254 mm = 50.8 x 25.4 mm, by hand
    assert area_cm2("box", [[0.1, 0.1], [0.2, 0.2]], SPREAD) == pytest.approx(
        12.903, abs=1e-3
    )


def test_the_bleed_counts_as_printed_and_what_lies_beyond_does_not() -> None:
    whole = area_cm2("box", [[-0.5, -0.5], [1.5, 1.5]], SPREAD)
    assert whole == pytest.approx(51.4 * 26.0)


def test_a_loops_area_is_what_a_raster_of_it_counts() -> None:
    # against scikit-image's polygon2mask on a raster of 1000 x 1000
    loop = [[0.2, 0.2], [0.7, 0.3], [0.6, 0.8], [0.4, 0.5], [0.25, 0.6]]
    corners = [(y * 1000, x * 1000) for x, y in loop]
    mask = polygon2mask((1000, 1000), corners)  # type: ignore[no-untyped-call]  # no types
    counted = mask.mean() * SPREAD.area_cm2
    assert area_cm2("loop", loop, SPREAD) == pytest.approx(counted, rel=0.01)


@pytest.mark.parametrize(
    ("mark", "points"),
    [("box", [[0, 0]]), ("loop", [[0, 0], [1, 1]]), ("star", []), ("box", [[0, 0], [9, 9]]),
     ("box", [["a", 0], [1, 1]])],
)  # fmt: skip
def test_what_is_no_place_is_refused_in_words(
    mark: str, points: list[list[float]]
) -> None:
    with pytest.raises(NotUnderstood):
        outline(mark, points)


def test_two_sources_on_one_place_are_named_as_a_pair() -> None:
    here = outline("box", [[0.1, 0.1], [0.3, 0.3]])
    there = outline("box", [[0.2, 0.2], [0.4, 0.4]])
    away = outline("box", [[0.8, 0.8], [0.9, 0.9]])
    assert on_one_place([("C01", here), ("C02", there), ("C03", away)]) == [
        ("C01", "C02")
    ]
    assert on_one_place([("C01", here), ("C01", there)]) == []


@pytest.mark.parametrize(
    "evil", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "\uff1d1"]
)
def test_no_cell_starts_a_formula(evil: str) -> None:
    # the signs that OWASP's page on CSV injection names
    assert plain_cell(evil).startswith("'")


def test_plain_words_stay_as_they_are() -> None:
    assert plain_cell("Pell harbour, 1911") == "Pell harbour, 1911"
