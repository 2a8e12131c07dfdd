"""Names of files as artists send them (common practice, no source)."""

import pytest

from board.books.rules import Ends, Kind, Stage, items_of
from board.revisions.rules import Place, guess_item, guess_stage

PLACES = [
    Place(f"{plan.kind} {plan.label}", plan.kind, plan.first, plan.last, plan.story)
    for plan in items_of(32, Ends.SELF)
]


def _found(filename: str) -> str:
    return guess_item(filename, PLACES).key


@pytest.mark.parametrize(
    ("filename", "item"),
    [
        ("08-09_sketch.tif", "spread 8-9"),
        ("p8-9.png", "spread 8-9"),
        ("pp. 8 \u2013 9.png", "spread 8-9"),
        ("Seven Letters 8\u20139 sk2.jpg", "spread 8-9"),
        ("seven_letters_08_09_rev2.psd", "spread 8-9"),
        ("pell_0809.tif", "spread 8-9"),
        ("008-009.tiff", "spread 8-9"),
        ("8 and 9 final2.webp", "spread 8-9"),
        ("p8-p9.heic", "spread 8-9"),
        ("2026-03-02 10-11.png", "spread 10-11"),
        ("10-11_300dpi (2).png", "spread 10-11"),
        ("spread 2.png", "spread 8-9"),
        ("Spread_03.jpg", "spread 10-11"),
        ("page 14.jpg", "spread 14-15"),
        ("p.15 washes.jpg", "spread 14-15"),
        ("21.jpg", "spread 20-21"),
        ("cover.psd", "jacket jacket"),
        ("Jacket_v3.tif", "jacket jacket"),
        ("case.tif", "case case"),
        ("ends front.png", "ends 2-3"),
        ("back endpapers.png", "ends 30-31"),
        ("pastedown_front.png", "pastedown 1"),
        ("title page rough.png", "title 4-5"),
    ],
)
def test_a_name_tells_its_item(filename: str, item: str) -> None:
    assert _found(filename) == item


@pytest.mark.parametrize(
    "filename",
    [
        "IMG_2034.heic",
        "DSC00012.jpg",
        "scan 3.tif",
        "2026-08-09.png",
        "20260809.png",
        "goat.png",
        "8-9 and 10-11.png",
        "ends.png",
        "sk2.png",
        "98-99.png",
    ],
)
def test_a_name_that_could_be_anything_tells_nothing(filename: str) -> None:
    assert _found(filename) == ""


def test_a_guess_says_why() -> None:
    assert guess_item("08-09.tif", PLACES).reason == "The name says pages 8-9."
    assert "14-15" in guess_item("page 14.jpg", PLACES).reason
    doubt = guess_item("8-9 and 10-11.png", PLACES).reason
    assert "8-9 or 10-11" in doubt


@pytest.mark.parametrize(
    ("filename", "stage"),
    [
        ("08-09_sketch.tif", Stage.SKETCH),
        ("8-9 sk2.jpg", Stage.SKETCH),
        ("8-9 washes.jpg", Stage.WASHES),
        ("8-9 final.jpg", Stage.FINAL),
        ("thumbs 8-9.png", Stage.THUMBNAILS),
        ("8-9.png", None),
        ("final sketch 8-9.png", None),
    ],
)
def test_a_name_may_tell_its_stage(filename: str, stage: Stage | None) -> None:
    assert guess_stage(filename) is stage


def test_every_kind_outside_the_pages_can_be_named() -> None:
    outside = {place.kind for place in PLACES if place.first == 0}
    assert outside == {Kind.JACKET, Kind.CASE}
