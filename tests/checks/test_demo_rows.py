"""The demo book's pictures come out as its table of checks says."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips

from board.books.rules import Stage
from board.checks.rules import Finding, Level, Terms
from board.checks.rules.judging import judge
from board.repro.laying import lay
from board.repro.pressing import Order, measure
from board.repro.sheets import SheetSize, as_matrix, bled_matrix
from fixtures.drawing import SHOTS, draw_revision, landing, shoot

SHEET = SheetSize(508.0, 254.0, 3.175)
STAGES = {"sk": Stage.SKETCH, "wa": Stage.WASHES, "fa": Stage.FINAL}
pytestmark = pytest.mark.slow


def boxed(sort: str, label: str, sides: tuple[float, ...]) -> dict[str, Any]:
    names = ("x", "y", "width", "height")
    return {"key": label, "sort": sort, "label": label,
            **dict(zip(names, sides, strict=True))}  # fmt: skip


GRANNA = boxed("focal", "Granna's head", (0.46, 0.30, 0.09, 0.18))
OTTI = boxed("focal", "Otti's head", (0.465, 0.38, 0.07, 0.14))
TYPE_16 = boxed("type", "type box", (0.60, 0.08, 0.34, 0.24))


def findings(
    item: str,
    rev: str,
    tmp_path: Path,
    *,
    boxes: tuple[dict[str, Any], ...] = (),
) -> dict[str, Finding]:
    """Draw, shoot, lay by the known shot, measure and judge with the demo's limits."""
    art = draw_revision(item, rev)
    high, wide = art.shape[:2]
    shot = SHOTS.get((item, rev))
    matrix = bled_matrix(wide, high, SHEET)
    if shot:
        matrix = as_matrix(matrix @ np.linalg.inv(landing(shot, wide, high)[0]))
    picture = shoot(art, shot)
    size = (picture.shape[1], picture.shape[0])
    image = pyvips.Image.new_from_array(picture).copy(interpretation="srgb")
    image.vipssave(str(tmp_path / "art.v"), keep="none")
    laid = tmp_path / "laid"
    laid.mkdir()
    lay(tmp_path / "art.v", matrix, SHEET, laid)
    order = Order(
        matrix=matrix.tolist(),
        picture=size,
        sheet=SHEET,
        double=True,
        gutter_mm=9.525,
        type_boxes=[box for box in boxes if box["sort"] == "type"],
        skip_mm=0.4 if shot else 0.2,
    )
    first, last = (int(page) for page in item.split("-"))
    terms = Terms(
        stage=STAGES[rev[:2]],
        pages=(first, last),
        extent=32,
        sheet_mm=(508.0, 254.0),
        bleed_mm=3.175,
        gutter_mm=9.525,
        ppi_warn=120,
        ppi_stop=80,
        ink_limit=300.0,
        ink_source="the demo book",
        picture=size,
        declared="registered" if shot else "bled",
        boxes=boxes,
    )
    return {found.check: found for found in judge(measure(laid, order), terms)}


@pytest.mark.parametrize(("item", "box"), [("8-9", GRANNA), ("20-21", OTTI)])
def test_a_head_lies_in_the_gutter(
    item: str, box: dict[str, Any], tmp_path: Path
) -> None:
    found = findings(item, "sk1", tmp_path, boxes=(box,))["gutter"]
    assert found.level is Level.WARN
    assert box["label"] in found.says


def test_the_tight_rope_of_20_21_crosses_the_fold_as_a_thin_slant(
    tmp_path: Path,
) -> None:
    found = findings("20-21", "sk1", tmp_path)["lines in the fold"]
    assert found.level is Level.WARN
    assert "slanting" in found.says
    # The rope runs from her hand at (.475, .6) to the right and up.
    assert any(
        place["x"] < 0.5 < place["x"] + place["width"] and 0.45 < place["y"] < 0.65
        for place in found.places
    )


def test_the_door_frame_stands_in_the_fold_between_sections(tmp_path: Path) -> None:
    found = findings("16-17", "sk1", tmp_path)
    assert found["lines in the fold"].level is Level.WARN
    assert "upright" in found["lines in the fold"].says
    assert "different sections" in found["lines in the fold"].says
    assert found["sections"].level is Level.WARN


@pytest.mark.parametrize(
    ("rev", "level"),
    [
        ("sk1", Level.WARN),
        ("sk2", Level.CLEAR),
        ("fa1", Level.STOP),
        ("fa2", Level.CLEAR),
    ],
)
def test_the_bleed_of_10_11(rev: str, level: Level, tmp_path: Path) -> None:
    found = findings("10-11", rev, tmp_path)
    assert found["bleed"].level is level
    if rev == "fa1":
        assert found["bleed"].figure.startswith("right edge, 2.")
    if rev == "sk1":
        assert "slanting" in found["lines in the fold"].says


def test_the_stripe_of_14_15_is_out_of_the_presss_reach(tmp_path: Path) -> None:
    found = findings("14-15", "fa1", tmp_path)["press gamut"]
    assert found.level is Level.WARN
    # The stripe is painted at (.46, .44, .44, .03).
    assert any(
        0.4 < place["x"] < 0.95 and 0.4 < place["y"] < 0.5 for place in found.places
    )


@pytest.mark.parametrize(
    ("rev", "level", "low", "high"),
    [("fa1", Level.WARN, 2.6, 3.6), ("fa2", Level.CLEAR, 4.5, 21.0)],
)
def test_the_type_of_16_17(
    rev: str, level: Level, low: float, high: float, tmp_path: Path
) -> None:
    found = findings("16-17", rev, tmp_path, boxes=(TYPE_16,))["type contrast"]
    assert found.level is level
    assert low <= float(found.figure.split()[0]) <= high


@pytest.mark.parametrize(
    ("rev", "level", "figure"),
    [("fa1", Level.STOP, "76 ppi"), ("fa2", Level.CLEAR, "122 ppi")],
)
def test_the_resolution_of_26_27(
    rev: str, level: Level, figure: str, tmp_path: Path
) -> None:
    found = findings("26-27", rev, tmp_path)["resolution"]
    assert (found.level, found.figure) == (level, figure)
