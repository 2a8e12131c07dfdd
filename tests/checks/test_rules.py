"""What a measure means: clear, warn, stop, and why."""

from dataclasses import replace
from typing import Any

import pytest

from board.books.rules import Stage
from board.checks.rules import Level, Terms, worst
from board.checks.rules.extent import bleed, resolution, size
from board.checks.rules.folds import fold, gutter, in_band, sections
from board.checks.rules.inks import gamut, ink, mode
from board.checks.rules.judging import CHECKS, judge, stop_sentences
from board.checks.rules.words import contrast, text_plate, texture

TERMS = Terms(
    stage=Stage.FINAL,
    pages=(10, 11),
    extent=32,
    sheet_mm=(508.0, 254.0),
    bleed_mm=3.175,
    gutter_mm=9.525,
    ppi_warn=300,
    ppi_stop=200,
    ink_limit=300.0,
    ink_source="the printer's guide",
    picture=(6075, 3075),
    declared="bled",
)
CLEAN: dict[str, Any] = {
    "ppi": 300.0,
    "ppi_at": (0.5, 0.5),
    "uncovered": dict.fromkeys(("left", "right", "top", "bottom"), 0.0),
    "strips": {},
    "uprights": [],
    "crossings": [],
    "type": [],
    "profile": "a general offset profile",
    "gamut": {"share": 0.0, "places": []},
    "ink": {"share": 0.0, "most": 290.0, "places": []},
    "file": {"mode": "srgb", "has_profile": True},
}


def seen(**more: Any) -> dict[str, Any]:
    return CLEAN | more


def at(stage: Stage, **more: Any) -> Terms:
    return replace(TERMS, stage=stage, **more)


@pytest.mark.parametrize(
    ("ppi", "stage", "level"),
    [
        (299.6, Stage.FINAL, Level.CLEAR),  # whole ppi are compared
        (301, Stage.FINAL, Level.CLEAR),
        (299.4, Stage.FINAL, Level.WARN),
        (290, Stage.FINAL, Level.WARN),
        (200, Stage.FINAL, Level.WARN),
        (190, Stage.FINAL, Level.STOP),
        (190, Stage.WASHES, Level.WARN),
        (60, Stage.SKETCH, Level.WARN),
        (60, Stage.THUMBNAILS, Level.WARN),
    ],
)
def test_resolution_stops_a_final_only(ppi: float, stage: Stage, level: Level) -> None:
    assert resolution(seen(ppi=ppi), at(stage)).level is level


def strip(mm: float) -> dict[str, Any]:
    return {"right": {"depth_mm": mm, "start": 0.0, "end": 1.0, "white": True}}


def test_a_strip_of_two_millimetres_stops_a_final_and_warns_at_a_sketch() -> None:
    final = bleed(seen(strips=strip(2.1)), TERMS)
    assert final.level is Level.STOP
    assert final.figure == "right edge, 2.1 mm short"
    place = final.places[0]
    # The demo book's own note: (1.0022, -.0125, .0041, 1.025).
    assert place["x"] == pytest.approx(1.0022, abs=2e-4)
    assert place["width"] == pytest.approx(0.0041, abs=1e-4)
    assert (place["y"], place["height"]) == pytest.approx((-0.0125, 1.025))
    assert bleed(seen(strips=strip(2.1)), at(Stage.SKETCH)).level is Level.WARN


def test_half_a_millimetre_is_short_too_and_less_than_the_scan_can_see_is_not() -> None:
    assert bleed(seen(strips=strip(0.5)), TERMS).level is Level.STOP
    assert bleed(seen(), TERMS).level is Level.CLEAR


def test_a_fault_within_the_error_of_the_laying_only_warns() -> None:
    unsure = replace(TERMS, error_bar_mm=1.2)
    found = bleed(seen(strips=strip(0.8)), unsure)
    assert found.level is Level.WARN
    assert found.estimate


def test_a_picture_cut_to_the_trim_has_no_bleed() -> None:
    bare = dict.fromkeys(("left", "right", "top", "bottom"), 3.15)
    found = bleed(seen(uncovered=bare), TERMS)
    assert found.level is Level.STOP
    assert len(found.places) == 4
    assert "the picture ends there" in found.says


def test_size_is_told_against_trim_and_bleed() -> None:
    found = size(seen(), TERMS)
    assert found.level is Level.CLEAR
    assert found.limit.startswith("6075 x 3075 px")
    assert size(seen(), replace(TERMS, picture=(6075, 3000))).level is Level.WARN
    asked = replace(TERMS, bleed_asked_mm=4.7625, bleed_source="the printer's guide")
    assert "4.7625 mm of bleed" in size(seen(), asked).says


def box(x: float, width: float, label: str = "Granna's head") -> dict[str, Any]:
    return {"key": label, "sort": "focal", "label": label, "x": x, "y": 0.3,
            "width": width, "height": 0.18}  # fmt: skip


def test_a_face_in_the_gutter_band_warns_by_name() -> None:
    found = gutter(seen(), replace(TERMS, boxes=[box(0.46, 0.09), box(0.7, 0.1, "b")]))
    assert found.level is Level.WARN
    assert "Granna's head" in found.says
    assert len(found.places) == 1
    # By hand: the band runs from .48125 to .51875, the box from .46 to .55.
    assert in_band(box(0.46, 0.09), TERMS) == pytest.approx(0.0375 / 0.09)


def test_a_horizon_is_meant_to_cross_and_a_touch_counts() -> None:
    assert in_band(box(0.0, 1.0), TERMS) == 0
    assert in_band(box(0.40, 0.0815), TERMS) > 0
    assert in_band(box(0.40, 0.081), TERMS) == 0
    assert in_band(box(0.46, 0.09), replace(TERMS, double=False)) == 0


def test_without_focal_boxes_the_gutter_is_not_known() -> None:
    assert gutter(seen(), TERMS).level is Level.UNKNOWN


def test_pages_16_and_17_lie_in_different_sections_and_8_and_9_side_by_side() -> None:
    at_16 = replace(TERMS, pages=(16, 17))
    assert sections(seen(), at_16).level is Level.WARN
    assert "natural" in sections(seen(), replace(TERMS, pages=(8, 9))).says
    assert "natural" in sections(seen(), replace(TERMS, pages=(24, 25))).says
    assert sections(seen(), TERMS).level is Level.CLEAR
    line = {"x": 0.495, "y": 0.2, "width": 0.001, "height": 0.4, "length_mm": 105.0}
    found = fold(seen(uprights=[line]), at_16)
    assert found.level is Level.WARN
    assert "different sections" in found.says


def type_box(ratio: float | None, spread: float = 5.0) -> dict[str, Any]:
    return {"key": "t", "contrast": ratio, "texture": spread, "x": 0.6, "y": 0.1,
            "width": 0.01, "height": 0.02}  # fmt: skip


def test_type_needs_four_and_a_half_to_one_and_nothing_is_rounded_up() -> None:
    assert contrast(seen(type=[type_box(4.5)]), TERMS).level is Level.CLEAR
    low = contrast(seen(type=[type_box(4.499), type_box(9.0)]), TERMS)
    assert low.level is Level.WARN
    assert low.figure == "4.4 to 1"
    assert contrast(seen(), TERMS).level is Level.UNKNOWN
    outside = contrast(seen(type=[type_box(None)]), TERMS)
    assert "outside the picture" in outside.says
    assert texture(seen(type=[type_box(9, 26.0)]), TERMS).level is Level.WARN
    assert text_plate(seen(), TERMS).level is Level.UNKNOWN


def place(mm2: float) -> dict[str, float]:
    share = mm2 / (514.35 * 260.35)
    return {
        "x": 0.6,
        "y": 0.4,
        "width": 0.2,
        "height": 0.02,
        "share": share,
        "worst": 6,
    }


def test_colours_out_of_reach_and_ink_over_the_limit_warn_as_estimates() -> None:
    stripe = {"share": 0.005, "places": [place(400)]}
    found = gamut(seen(gamut=stripe), TERMS)
    assert (found.level, found.estimate) == (Level.WARN, True)
    assert "no press profile was given" in found.limit
    speck = {"share": 0.00001, "places": [place(2)]}
    assert gamut(seen(gamut=speck), TERMS).level is Level.CLEAR
    heavy = ink(seen(ink={"share": 0.1, "most": 312.0, "places": [place(99)]}), TERMS)
    assert heavy.level is Level.WARN
    assert heavy.source == "the printer's guide"


@pytest.mark.parametrize(
    ("told", "level"),
    [
        ({"mode": "srgb", "has_profile": True}, Level.CLEAR),
        ({"mode": "srgb", "has_profile": False}, Level.WARN),
        ({"mode": "cmyk", "has_profile": False}, Level.WARN),
        ({"mode": "cmyk", "has_profile": True}, Level.CLEAR),
        ({"mode": "b-w", "has_profile": True}, Level.WARN),
        ({}, Level.UNKNOWN),
    ],
)
def test_mode_and_profile_of_the_file(told: dict[str, Any], level: Level) -> None:
    assert mode(seen(file=told), TERMS).level is level


def test_every_check_is_told_and_only_stops_make_sentences() -> None:
    found = judge(seen(strips=strip(2.0), ppi=190.0), TERMS)
    assert len(found) == len(CHECKS)
    assert stop_sentences([one.as_dict() for one in found]) == (
        "Check at stop: resolution, 190 ppi.",
        "Check at stop: bleed, right edge, 2.0 mm short.",
    )
    assert worst([one.level for one in found]) is Level.STOP
    drawn = judge(seen(strips=strip(2.0), ppi=19.0), at(Stage.SKETCH))
    assert Level.STOP not in [one.level for one in drawn]


def test_every_limit_says_where_it_comes_from() -> None:
    for one in judge(seen(type=[type_box(9)]), replace(TERMS, boxes=[box(0.2, 0.1)])):
        assert one.source or not one.limit, one.check
