import re

import pytest
from django.conf import settings
from hypothesis import given
from hypothesis import strategies as st

from board.errors import NotUnderstood
from board.viewing.rules import in_fractions, new_event, read_points, write_points

NEAR = st.floats(-0.2, 1.2)


@given(st.lists(st.tuples(NEAR, NEAR), max_size=40))
def test_points_survive_a_field(points: list[tuple[float, float]]) -> None:
    read = read_points(write_points(points))
    assert len(read) == len(points)
    for (x, y), (read_x, read_y) in zip(points, read, strict=True):
        assert abs(x - read_x) < 1e-5
        assert abs(y - read_y) < 1e-5


@pytest.mark.parametrize("text", ["0.1", "0.1,0.2,0.3", "a,b", "0.1,0.2 x"])
def test_a_pair_that_is_no_pair_is_not_understood(text: str) -> None:
    with pytest.raises(NotUnderstood):
        read_points(text)


def test_a_scrawl_of_too_many_points_is_not_understood() -> None:
    with pytest.raises(NotUnderstood):
        read_points("0.1,0.1 " * 401)


def test_millimetres_and_per_cent_name_the_same_place() -> None:
    spread = {"width_mm": 508.0, "height_mm": 254.0}
    in_mm = in_fractions([127, 63.5, None, None], unit="mm", **spread)
    in_percent = in_fractions([25, 25, None, None], unit="%", **spread)
    assert in_mm == in_percent == [[0.25, 0.25]]


def test_no_two_acts_get_the_same_id() -> None:
    assert len({new_event() for _ in range(1000)}) == 1000
    assert 8 <= len(new_event()) <= 40


def test_marks_on_the_art_are_drawn_with_the_pencils_of_the_day() -> None:
    tokens = (settings.BASE_DIR / "static/css/tokens.css").read_text(encoding="utf-8")
    day = tokens.partition("@media screen and (prefers-color-scheme: dark)")[0]
    found = dict(re.findall(r"--((?:pencil|mark)-[0-7]): (#[0-9a-f]{6});", day))
    assert [found[f"mark-{n}"] for n in range(8)] == [
        found[f"pencil-{n}"] for n in range(8)
    ]
