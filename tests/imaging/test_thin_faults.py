"""Faults of two or three pixels: rims of paper in a shot, thin lines over the fold."""

import cv2
import numpy as np
import pytest

from board.imaging.bleed import thin_rim
from board.imaging.fold import thin_crossings
from board.imaging.rim import window_mm

PX = 120 / 25.4  # a shot at 120 pixels an inch


def shot_edge(
    rim_mm: float, *, table: int, paint: int, off_mm: float = 0.0
) -> np.ndarray:
    """An edge 120 mm long as a soft shot shows it: table, a rim of paper, paint."""
    before, inside = window_mm()
    fine = 16
    rows = round((before + inside) * PX)
    at = (np.arange(rows * fine) + 0.5) / fine / PX - before
    line = np.full(rows * fine, float(paint))
    line[at < rim_mm + off_mm] = 252
    line[at < off_mm] = table
    soft = cv2.GaussianBlur(line[:, None], (1, 0), 0.8 * fine, sigmaY=0.8 * fine)
    profile = soft.reshape(rows, fine).mean(axis=1)
    noise = np.random.default_rng(2).normal(0, 3, (rows, round(120 * PX), 3))
    return np.clip(profile[:, None, None] + noise, 0, 255).astype(np.uint8)


def rim_of(edge: np.ndarray) -> float:
    row = round(window_mm()[0] * PX)
    found = thin_rim(edge, edge_row=row, px_per_mm=PX, skip_mm=0.4)
    return found.depth_mm if found else 0.0


@pytest.mark.parametrize("table", [14, 138, 200])
@pytest.mark.parametrize("off_mm", [-0.2, 0.0, 0.25])
def test_half_a_millimetre_of_paper_is_seen_in_a_soft_shot(
    table: int, off_mm: float
) -> None:
    edge = shot_edge(0.5, table=table, paint=170, off_mm=off_mm)
    assert rim_of(edge) == pytest.approx(0.5, abs=0.12)


@pytest.mark.parametrize("paint", [60, 170, 225])
def test_an_edge_that_is_painted_to_its_end_has_no_rim(paint: int) -> None:
    assert rim_of(shot_edge(0.0, table=138, paint=paint)) == 0.0


def test_a_sharpened_edge_rings_and_has_no_rim() -> None:
    edge = shot_edge(0.0, table=30, paint=215).astype(np.float32)
    rung = edge + 0.9 * (edge - cv2.GaussianBlur(edge, (0, 0), 1.2))
    assert rim_of(np.clip(rung, 0, 255).astype(np.uint8)) == 0.0


def test_on_a_table_as_white_as_paper_no_rim_can_be_told() -> None:
    assert rim_of(shot_edge(0.5, table=250, paint=170)) == 0.0


@pytest.mark.parametrize("degrees", [15, -30, 45, -60, 75])
@pytest.mark.parametrize("thick_mm", [0.3, 0.6, 1.2])
def test_a_thin_slant_over_the_fold_is_seen_at_its_angle(
    degrees: float, thick_mm: float
) -> None:
    found = thin_crossings(_middle(degrees, thick_mm), px_per_mm=PX)
    assert found
    assert found[0].degrees == pytest.approx(degrees, abs=6)


def test_what_ends_at_the_fold_does_not_cross_it() -> None:
    art = _middle(45, 0.6)
    art[:, art.shape[1] // 2 :] = 190
    assert thin_crossings(art, px_per_mm=PX) == []


def test_a_horizon_is_no_slant() -> None:
    assert thin_crossings(_middle(88, 0.6), px_per_mm=PX) == []


def _middle(degrees: float, thick_mm: float) -> np.ndarray:
    """120 mm around the fold of even paint with grain, and a line 60 mm long."""
    wide, high = round(120 * PX), round(254 * PX)
    reach = 30 * PX
    across = reach * np.sin(np.radians(degrees))
    down = reach * np.cos(np.radians(degrees))
    big = np.full((high * 4, wide * 4), 190, np.uint8)
    ends = [
        (round(4 * (wide / 2 + sign * across)), round(4 * (high / 2 + sign * down)))
        for sign in (-1, 1)
    ]
    cv2.line(big, *ends, 60, max(1, round(4 * thick_mm * PX)), cv2.LINE_AA)
    art = cv2.resize(big, (wide, high), interpolation=cv2.INTER_AREA).astype(float)
    grain = np.random.default_rng(4).normal(0, 3, art.shape)
    return np.clip(art + grain, 0, 255).astype(np.uint8)[..., None].repeat(3, axis=2)
