"""Arithmetic before the press, held against hand-made tables and planted faults."""

import csv
from pathlib import Path

import numpy as np
import pytest

from board.imaging.bleed import bare_strip
from board.imaging.fold import thin_crossings, uprights
from board.imaging.press import every_colour, ink_sum, legibility, patches
from board.imaging.resolution import effective_ppi, uncovered_mm

INCH = 25.4
PX = 300 / INCH
HERE = Path(__file__).parent


def bled(width: int, height: int, mm: tuple[float, float], bleed: float) -> np.ndarray:
    """The matrix of a picture that shows the whole bled sheet."""
    x, y = bleed / mm[0], bleed / mm[1]
    return np.array(
        [[(1 + 2 * x) / width, 0, -x], [0, (1 + 2 * y) / height, -y], [0, 0, 1]]
    )


# Trade table, computed by hand: (2 w + 1/4) x 300 by (h + 1/4) x 300.
@pytest.mark.parametrize(
    ("page", "pixels"),
    [
        ((10, 10), (6075, 3075)),
        ((8.5, 11), (5175, 3375)),
        ((11, 8.5), (6675, 2625)),
        ((8, 8), (4875, 2475)),
    ],
)
def test_the_pixels_of_the_trade_table_come_to_300_ppi(
    page: tuple[float, float], pixels: tuple[int, int]
) -> None:
    mm = (2 * page[0] * INCH, page[1] * INCH)
    matrix = bled(*pixels, mm, 0.125 * INCH)
    ppi, _ = effective_ppi(matrix, mm, bleed_mm=0.125 * INCH, picture=pixels)
    assert ppi == pytest.approx(300, abs=1e-6)


@pytest.mark.parametrize(
    ("width", "height", "ppi"), [(1540, 780, 76), (3850, 1950, 190)]
)
def test_a_small_scan_has_the_ppi_worked_out_by_hand(
    width: int, height: int, ppi: int
) -> None:
    mm = (508.0, 254.0)
    found, _ = effective_ppi(bled(width, height, mm, 3.175), mm, bleed_mm=3.175)
    assert int(found + 0.5) == ppi


def test_a_keystoned_shot_is_as_coarse_as_its_most_stretched_place() -> None:
    mm = (508.0, 254.0)
    straight = bled(6075, 3075, mm, 3.175)
    tilt = np.array([[1, 0, 0], [0, 1, 0], [2e-5, 0, 1]])
    found, at = effective_ppi(straight @ tilt, mm, bleed_mm=3.175)
    even, _ = effective_ppi(straight, mm, bleed_mm=3.175)
    assert even == pytest.approx(300)
    assert found < 300
    assert at[0] < 0.1  # where a step of the picture reaches furthest


def test_what_a_trimmed_picture_lacks_is_the_bleed() -> None:
    mm = (508.0, 254.0)
    matrix = np.array([[1 / 6000, 0, 0], [0, 1 / 3000, 0], [0, 0, 1]])
    lacking = uncovered_mm(matrix, (6000, 3000), mm, bleed_mm=3.175)
    assert all(mm == pytest.approx(3.175, abs=0.06) for mm in lacking.values())


def edge(strip_mm: float, *, slant_mm: float = 0.0, seed: int = 1) -> np.ndarray:
    """An edge 200 mm long at 300 ppi: white for so many mm, then paint."""
    rng = np.random.default_rng(seed)
    deep, along = round(7.2 * PX), round(200 * PX)
    art = rng.normal(150, 12, (deep, along, 1)).repeat(3, axis=2)
    rows = np.arange(deep)[:, None]
    until = (strip_mm + slant_mm * np.arange(along) / along) * PX
    art[rows < until] = 254
    return np.clip(art, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("planted", [0.5, 1.0, 2.0, 3.1, 5.0])
def test_a_planted_white_strip_is_measured_to_a_tenth_of_a_millimetre(
    planted: float,
) -> None:
    found = bare_strip(edge(planted), px_per_mm=PX, bleed_mm=3.175)
    assert found is not None
    assert found.depth_mm == pytest.approx(planted, abs=0.1)
    assert found.start == 0
    assert found.end == 1


def test_a_slanting_strip_is_told_by_its_deepest_end() -> None:
    found = bare_strip(edge(0.6, slant_mm=2.0), px_per_mm=PX, bleed_mm=3.175)
    assert found is not None
    assert found.depth_mm == pytest.approx(2.6, abs=0.25)


def test_a_filled_edge_and_a_picture_on_white_paper_have_no_strip() -> None:
    assert bare_strip(edge(0.0), px_per_mm=PX, bleed_mm=3.175) is None
    assert bare_strip(edge(40.0), px_per_mm=PX, bleed_mm=3.175) is None


def test_a_ragged_border_is_no_strip() -> None:
    rng = np.random.default_rng(3)
    art = edge(0.0)
    for at in range(0, art.shape[1], 24):
        art[: round(rng.uniform(0, 6.5) * PX), at : at + 24] = 254
    assert bare_strip(art, px_per_mm=PX, bleed_mm=3.175) is None


def test_an_even_strip_of_the_table_is_bare_too() -> None:
    art = edge(0.0)
    art[: round(1.5 * PX)] = 138
    table = np.full((40, art.shape[1], 3), 138, np.uint8)
    found = bare_strip(art, px_per_mm=PX, bleed_mm=3.175, outside=table)
    assert found is not None
    assert not found.white
    assert found.depth_mm == pytest.approx(1.5, abs=0.15)


def band(width_mm: float = 19.05) -> np.ndarray:
    rng = np.random.default_rng(5)
    rows, columns = (254 * 6), round(width_mm * 6)
    return np.clip(rng.normal(190, 3, (rows, columns, 1)).repeat(3, axis=2), 0, 255)


def test_a_door_frame_in_the_band_is_a_strong_upright() -> None:
    art = band()
    art[300:1000, 50:62] = 70
    found = uprights(art.astype(np.uint8), px_per_mm=6, high_mm=254)
    assert found
    assert found[0].length_mm == pytest.approx(117, abs=10)
    assert not uprights(band().astype(np.uint8), px_per_mm=6, high_mm=254)


def test_a_thin_ray_across_the_fold_is_seen_and_a_broad_shape_is_not() -> None:
    thin, broad = band(120), band(120)
    rows, columns = np.indices(thin.shape[:2])
    off = np.abs((rows - 760) * 0.8 - (columns - 360) * 0.6)
    thin[off < 3] = 90
    broad[off < 90] = 90
    assert thin_crossings(thin.astype(np.uint8), px_per_mm=6)
    assert not thin_crossings(broad.astype(np.uint8), px_per_mm=6)


def hexed(colour: str) -> tuple[int, int, int]:
    digits = colour.strip().lstrip("#")
    digits = "".join(d * 2 for d in digits) if len(digits) == 3 else digits
    return int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


# WCAG 2.2 and its techniques: worked examples; published figures are cut, not rounded.
def wcag_examples() -> list[tuple[str, str, str]]:
    with (HERE / "wcag_contrast_examples.csv").open() as file:
        rows = [row for row in csv.reader(file) if row and row[0].startswith("#")]
    return [(row[0], row[1], row[2]) for row in rows if row[1].startswith("#")]


@pytest.mark.parametrize(("text", "ground", "published"), wcag_examples())
def test_a_flat_type_box_has_the_published_contrast(
    text: str, ground: str, published: str
) -> None:
    box = np.full((40, 80, 3), hexed(ground), np.uint8)
    found = legibility(
        box, px_per_mm=4, window_mm=5, text=np.array(hexed(text), np.uint8)
    )
    digits = len(published.partition(".")[2])
    cut = int(found.contrast * 10**digits + 1e-9) / 10**digits
    assert cut == float(published)
    assert found.texture == pytest.approx(0, abs=0.05)


def test_the_worst_window_counts_and_not_the_mean() -> None:
    box = np.full((200, 400, 3), 255, np.uint8)
    box[60:120, 300:360] = 90
    found = legibility(box, px_per_mm=6, window_mm=7)
    light = ((90 / 255 + 0.055) / 1.055) ** 2.4
    assert found.contrast == pytest.approx((light + 0.05) / 0.05, rel=1e-3)
    assert 0.74 < found.x + found.width / 2 < 0.9


def test_inks_add_up_in_per_cent() -> None:
    inks = np.array([[255, 255, 255, 255], [204, 204, 255, 102]], np.uint8)
    # 80/80/100/40, a four-colour black of the trade table.
    assert ink_sum(inks).tolist() == pytest.approx([400, 300])


def test_each_colour_is_gathered_once_and_answers_land_on_their_pixels() -> None:
    rng = np.random.default_rng(2)
    picture = rng.integers(0, 4, (50, 60, 3), dtype=np.uint8) * 60
    found = every_colour(picture)
    assert len(found.colours) == 64
    sums = found.colours.sum(axis=1, dtype=np.float32)
    assert (found.spread(sums) == picture.sum(axis=2)).all()
    assert (found.spread(found.colours) == picture).all()


def test_grain_is_no_place_and_a_patch_is() -> None:
    flagged = np.zeros((254, 508), bool)
    flagged[::3, ::3] = True
    flagged[100:120, 200:230] = True
    share, found = patches(flagged, flagged.astype(np.float32) * 5, px_per_mm=1)
    flagged_cells = share * flagged.size
    assert flagged_cells >= 600
    assert found[0].share * flagged.size == pytest.approx(600, abs=60)
    assert found[0].x == pytest.approx(200 / 508, abs=0.01)
    assert found[0].worst == 5
