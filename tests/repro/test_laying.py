"""A laid picture shows every place of the shot where the matrix says it lies."""

import io
from pathlib import Path

import numpy as np
import pytest
import pyvips
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage.transform import ProjectiveTransform, warp

from board.errors import NotFound, NotUnderstood, PictureRefused
from board.repro.developing import develop
from board.repro.intake import Pixels
from board.repro.laying import GREY, Laid, lay
from board.repro.pyramid import level_sizes, pyramid
from board.repro.sheets import (
    Matrix,
    SheetSize,
    as_matrix,
    bled_matrix,
    carried,
    sheet_rect,
    to_laid,
    trimmed_matrix,
)
from board.repro.tiles import TileIndex, tile
from tests.repro import pictures

SHEET = SheetSize(width_mm=100, height_mm=50, bleed_mm=3, margin_mm=5)
SIZES = {"max_bytes": 50_000_000, "max_pixels": 40_000_000}


def lay_array(art: Pixels, matrix: Matrix, folder: Path) -> tuple[Laid, Pixels, Pixels]:
    source = pictures.put(
        folder, "art.png", pictures.saved(Image.fromarray(art), "PNG")
    )
    done = develop(source, folder / "art.v", filename="art.png", **SIZES)
    out = folder / "laid"
    out.mkdir()
    laid = lay(Path(done.path), matrix, SHEET, out)
    working = np.asarray(Image.open(out / "working.png"))
    return laid, working, np.asarray(Image.open(out / "mask.png"))


def ramps(width: int, height: int) -> Pixels:
    """Red says how far across a pixel's middle is and green how far down."""
    x = (np.arange(width) + 0.5) * 240 / width + 8
    y = (np.arange(height) + 0.5) * 240 / height + 8
    art = np.zeros((height, width, 3), np.float64)
    art[..., 0], art[..., 1] = x[None, :], y[:, None]
    return np.rint(art).astype(np.uint8)


@pytest.mark.parametrize(
    "shot",
    [
        [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
        [[0.97, 0.05, 6], [-0.04, 1.02, 3], [2e-5, -3e-5, 1]],
        [[0, -1.02, 240], [2.05, 0, 2], [0, 0, 1]],  # turned a quarter
    ],
)
def test_every_place_of_the_shot_lies_where_the_matrix_puts_it(
    tmp_path: Path, shot: list[list[float]]
) -> None:
    """Known truth: ramps that tell their own place; no half-pixel shift on average."""
    width, height = 480, 240
    matrix = bled_matrix(width, height, SHEET) @ np.array(shot, float)
    laid, working, mask = lay_array(ramps(width, height), matrix, tmp_path)
    rows, columns = np.nonzero(mask)
    middles = (np.column_stack([columns, rows]) + 0.5).astype(np.float64)
    back = np.linalg.inv(to_laid(laid.width, laid.height, sheet_rect(SHEET)) @ matrix)
    wanted = carried(back, middles)
    seen = (working[rows, columns, :2].astype(float) - 8) / 240 * (width, height)
    off = seen - wanted
    assert np.abs(off.mean(0)).max() < 0.05
    assert np.abs(off).max() < 2.6  # one grey level is 2 pixels across


def test_the_warp_agrees_with_a_reference_library(tmp_path: Path) -> None:
    """scikit-image's bicubic warp of the same picture, pixel middles at integers."""
    art = pictures.painted(400, 200)
    matrix = bled_matrix(400, 200, SHEET) @ np.array(
        [[0.98, 0.03, 4], [-0.02, 1.01, 2], [1e-5, 0, 1]]
    )
    laid, working, mask = lay_array(art, matrix, tmp_path)
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    onto = to_laid(laid.width, laid.height, sheet_rect(SHEET)) @ as_matrix(matrix)
    middles = np.linalg.inv(half) @ onto @ half
    there = warp(  # type: ignore[no-untyped-call]  # scikit-image has no types
        art.astype(float),
        ProjectiveTransform(middles).inverse,  # type: ignore[no-untyped-call]
        output_shape=(laid.height, laid.width),
        order=3,
        mode="edge",
    )
    off = np.abs(there - working)[mask > 0]
    assert off.mean() < 1.5
    assert np.percentile(off, 99) < 6


def test_what_the_shot_does_not_show_is_neutral_grey_and_masked(tmp_path: Path) -> None:
    laid, working, mask = lay_array(
        pictures.quarters(200, 100), trimmed_matrix(200, 100), tmp_path
    )
    assert tuple(working[1, 1]) == (GREY, GREY, GREY)
    assert mask[1, 1] == 0
    middle = working.shape[0] // 2, working.shape[1] // 2
    assert mask[middle] == 255
    # Trim over bled sheet: 100 * 50 of 106 * 56 mm.
    assert laid.covers == pytest.approx(5000 / (106 * 56), abs=0.03)


def test_a_laid_picture_keeps_the_resolution_of_the_shot(tmp_path: Path) -> None:
    laid, *_ = lay_array(
        pictures.painted(1060, 560), bled_matrix(1060, 560, SHEET), tmp_path
    )
    assert laid.ppi == pytest.approx(254, abs=0.5)  # 10 pixels a millimetre
    assert (laid.width, laid.height) == (1160, 660)
    with tifffile.TiffFile(tmp_path / "laid" / "laid.tif") as file:
        assert file.pages.first.tags["XResolution"].value == (25400, 100)


@pytest.mark.parametrize(
    "matrix",
    [
        [[-0.01, 0, 1], [0, 0.01, 0], [0, 0, 1]],  # mirrored
        [[0.01, 0, 0], [0, 0.01, 0], [-0.02, 0, 1]],  # over the horizon
        [[0.01, 0, 0], [0.01, 0, 0], [0, 0, 1]],  # flat
        [[float("nan"), 0, 0], [0, 1, 0], [0, 0, 1]],
    ],
)
def test_a_lay_that_folds_or_mirrors_is_refused(
    tmp_path: Path, matrix: list[list[float]]
) -> None:
    with pytest.raises(NotUnderstood):
        lay_array(pictures.quarters(100, 50), np.array(matrix), tmp_path)


def test_previews_keep_to_their_weight(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    noise = rng.integers(0, 256, (1000, 2000, 3), np.uint8)  # the worst there is
    lay_array(noise, bled_matrix(2000, 1000, SHEET), tmp_path)
    for name, width, most in (
        ("small.webp", 480, 11_000),
        ("medium.webp", 1200, 90_000),
        ("medium.jpg", 1200, 150_000),
    ):
        body = (tmp_path / "laid" / name).read_bytes()
        assert len(body) <= most
        assert Image.open(io.BytesIO(body)).width == width


def written(path: Path, art: Pixels) -> TileIndex:
    with pyramid(path, (art.shape[1], art.shape[0]), ppi=300, kept=200) as out:
        for top in range(0, len(art), 100):
            out.add(art[top : top + 100])
    return TileIndex.of(path)


@settings(max_examples=25, deadline=None)
@given(width=st.integers(1, 1300), height=st.integers(1, 1300))
def test_every_level_is_half_the_next_and_readers_agree(
    tmp_path_factory: pytest.TempPathFactory, width: int, height: int
) -> None:
    """Another reader, tifffile, sees the sizes in the file that the index serves."""
    path = tmp_path_factory.mktemp("pyramid") / "a.tif"
    index = written(path, pictures.painted(width, height))
    with tifffile.TiffFile(path) as file:
        shapes = [page.shape[1::-1] for page in file.pages]
    assert shapes == level_sizes(width, height)
    assert [(level.width, level.height) for level in index.levels] == shapes[::-1]
    assert index.describe()["levels"] == len(shapes)


def test_tiles_read_by_offset_are_what_libvips_sees_there(tmp_path: Path) -> None:
    art = pictures.painted(1300, 700)
    path = tmp_path / "a.tif"
    index = written(path, art)
    index.save(tmp_path / "a.index")
    assert TileIndex.load(tmp_path / "a.index") == index
    top = len(index.levels) - 1
    with path.open("rb") as file:
        for level in range(top + 1):
            page = pyvips.Image.tiffload(str(path), page=top - level)
            whole = page.numpy()
            grid = index.levels[level]
            for row in range(grid.rows):
                for column in range(grid.columns):
                    body = tile(file.fileno(), index, level, column=column, row=row)
                    got = np.asarray(Image.open(io.BytesIO(body)))
                    assert got.shape == (512, 512, 3)
                    y, x = row * 512, column * 512
                    there = whole[y : y + 512, x : x + 512]
                    off = got[: there.shape[0], : there.shape[1]].astype(int) - there
                    assert np.abs(off).max() <= 2
    full = pyvips.Image.tiffload(str(path)).numpy().astype(int)
    assert np.abs(full - art).mean() < 2.5


def test_a_tile_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    index = written(tmp_path / "a.tif", pictures.painted(600, 300))
    for level, column, row in ((-1, 0, 0), (2, 0, 0), (1, 2, 0), (1, 0, 1), (0, -1, 0)):
        with pytest.raises(NotFound):
            index.place(level, column, row)


def test_a_damaged_index_or_a_foreign_pyramid_is_refused(tmp_path: Path) -> None:
    index = written(tmp_path / "a.tif", pictures.painted(600, 300))
    index.save(tmp_path / "a.index")
    body = (tmp_path / "a.index").read_bytes()
    for cut in (0, 7, 12, 17, 30, len(body) - 1):
        (tmp_path / "a.index").write_bytes(body[:cut])
        with pytest.raises(PictureRefused):
            TileIndex.load(tmp_path / "a.index")
    art = pyvips.Image.new_from_array(pictures.painted(600, 300))
    art.tiffsave(str(tmp_path / "b.tif"), tile=True, pyramid=True, compression="jpeg")
    with pytest.raises(PictureRefused):
        TileIndex.of(tmp_path / "b.tif")
