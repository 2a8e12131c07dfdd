"""Contrast against the worked examples of WCAG 2.2 and its techniques."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from board.imaging.contrast import contrast_ratio, relative_luminance


def examples() -> list[list[str]]:
    """Read the published pairs; their sources stand in the file."""
    text = (Path(__file__).parent / "wcag_contrast_examples.csv").read_text()
    rows = csv.reader(line for line in text.splitlines() if line[:2] != "# ")
    return list(rows)[1:]


def rgb(hexes: str) -> tuple[int, int, int]:
    return (int(hexes[1:3], 16), int(hexes[3:5], 16), int(hexes[5:7], 16))


@pytest.mark.parametrize("row", examples(), ids=lambda row: row[0] + " on " + row[1])
def test_published_ratios_are_met_when_cut_not_rounded(row: list[str]) -> None:
    ratio = float(contrast_ratio(rgb(row[0]), rgb(row[1])))
    digits = len(row[2].partition(".")[2])
    assert math.floor(ratio * 10**digits + 1e-4) / 10**digits == float(row[2])
    assert ratio == pytest.approx(float(row[3]), abs=1e-3)
    assert (ratio >= 4.5) == (row[5] == "1")
    assert (ratio >= 3) == (row[6] == "1")


def test_luminance_runs_from_black_to_white_over_any_shape() -> None:
    picture = np.zeros((2, 3, 3), np.uint8)
    picture[1] = 255
    light = relative_luminance(picture)
    assert light.shape == (2, 3)
    assert light.min() == 0
    assert light.max() == pytest.approx(1)
