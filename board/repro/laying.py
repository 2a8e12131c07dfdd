"""Laying: the one picture of a revision that everybody looks at.

A laid picture covers the bled sheet and a margin, has square-on pixels and the
resolution of the shot; what the shot does not show is neutral grey. In its folder:

    laid.tif     the pyramid        laid.index   where its tiles lie
    small.webp   480 px wide        medium.webp  1200 px wide: the stills on pages
    medium.jpg   1200 px wide, for what is printed
    working.png  up to 2000 px, lossless, for change maps
    mask.png     the same size: 255 where the shot has picture, else 0
    colours.json main colours, tones and layout within the trim
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import BoardError
from board.imaging.working import at_once
from board.repro.colours import keep_colours
from board.repro.intake import Pixels, developed_pixels, let_go, reduced
from board.repro.pyramid import TILE, pyramid
from board.repro.sheets import (
    Matrix,
    Points,
    Rect,
    SheetSize,
    as_matrix,
    carried,
    corners,
    pixels_per_mm,
    require_face_up,
    sheet_rect,
    to_laid,
)
from board.repro.tiles import TileIndex

Mask = npt.NDArray[np.bool_]

GREY = 119  # L* 50 in sRGB, the neutral surround of viewing practice (ISO 3664)
WORKING = 2000
MOST_PIXELS = 130_000_000
LONGEST_SIDE = 24_000
BLOCK = 2048
REACH = 4  # pixels that a cubic sample may look beyond its block
SMALL, MEDIUM, PRINTED = "small.webp", "medium.webp", "medium.jpg"
# Forty small ones and their page are to cross a bad line in 500 kB.
PREVIEWS = ((SMALL, 480, 11_000), (MEDIUM, 1200, 90_000), (PRINTED, 1200, 150_000))
JPEG = (cv2.IMWRITE_JPEG_OPTIMIZE, 1, cv2.IMWRITE_JPEG_PROGRESSIVE, 1)
QUALITIES: dict[str, list[tuple[int, ...]]] = {
    ".jpg": [
        (cv2.IMWRITE_JPEG_QUALITY, q, *JPEG) for q in (86, 80, 72, 62, 50, 38, 26, 14)
    ],
    ".webp": [(cv2.IMWRITE_WEBP_QUALITY, q) for q in (84, 78, 70, 58, 44, 30, 16, 4)],
}  # by what each asks of the eye: 84 and 86 are alike
SHIFT = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])  # pixel middles to corners


@dataclass(frozen=True)
class Laid:
    """A laid picture: pixels, levels of its pyramid, and what it is worth.

    `covers` is the share of the bled sheet that the shot shows, 0 to 1.
    """

    width: int
    height: int
    tile: int
    levels: int
    ppi: float
    covers: float


@dataclass(frozen=True)
class Plan:
    """Where everything goes: `onto` takes picture places to places on the laid one."""

    width: int
    height: int
    ppi: float
    onto: Matrix
    rect: Rect


def plan_lay(size: tuple[int, int], matrix: Matrix, sheet: SheetSize) -> Plan:
    """Choose the size of the laid picture: the shot's own resolution, capped."""
    rect = sheet_rect(sheet)
    require_face_up(matrix, *size, rect)
    wide = sheet.width_mm + 2 * sheet.around_mm
    high = sheet.height_mm + 2 * sheet.around_mm
    per_mm = min(
        pixels_per_mm(matrix, *size, sheet),
        LONGEST_SIDE / max(wide, high),
        (MOST_PIXELS / (wide * high)) ** 0.5,
    )
    width, height = max(1, round(wide * per_mm)), max(1, round(high * per_mm))
    onto = to_laid(width, height, rect) @ matrix
    return Plan(width, height, per_mm * 25.4, onto, rect)


def lay(picture: Path, matrix: Matrix, sheet: SheetSize, folder: Path) -> Laid:
    """Lay a developed picture on its sheet and fill `folder` (see the module).

    Parameters
    ----------
    picture : a developed picture.
    matrix : 3x3, from picture pixels (counted from the outer corner) to the sheet.
    sheet : the item's sheet in millimetres.
    folder : an empty folder.

    Raises
    ------
    NotUnderstood
        when the matrix folds or mirrors the picture.
    """
    pixels = developed_pixels(picture)
    matrix = as_matrix(matrix)
    plan = plan_lay((pixels.shape[1], pixels.shape[0]), matrix, sheet)
    source, onto = _brought_near(pixels, plan.onto)
    path = folder / "laid.tif"
    with pyramid(path, (plan.width, plan.height), ppi=plan.ppi, kept=WORKING) as out:
        for strip in _strips(source, onto, plan):
            out.add(strip)
            let_go(pixels)
    working = reduced(out.kept, WORKING)
    quad = carried(plan.onto, corners(pixels.shape[1], pixels.shape[0]))
    mask = _working_mask(quad, plan, working)
    at_once(
        lambda part: part(),
        partial(_write_previews, folder, out.kept, working, mask),
        partial(keep_colours, folder, working, sheet),
    )
    index = TileIndex.of(path)
    index.save(folder / "laid.index")
    return Laid(
        width=plan.width,
        height=plan.height,
        tile=TILE,
        levels=len(index.levels),
        ppi=plan.ppi,
        covers=_share_of_bled_sheet(mask, sheet),
    )


def _brought_near(pixels: Pixels, onto: Matrix) -> tuple[Pixels, Matrix]:
    """Reduce the source by area first where the laid picture is much smaller."""
    height, width = pixels.shape[:2]
    middle = np.array([[width / 2, height / 2]])
    ahead = carried(onto, middle + np.array([[0, 0], [1, 0], [0, 1]]))
    across, down = ahead[1] - ahead[0], ahead[2] - ahead[0]
    scale = abs(across[0] * down[1] - across[1] * down[0]) ** 0.5
    if scale > 0.8:
        return pixels, onto
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    near = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    back = np.diag([width / size[0], height / size[1], 1.0])
    return near, onto @ back


def _strips(source: Pixels, onto: Matrix, plan: Plan) -> Iterator[Pixels]:
    """Give the laid picture in strips of one row of tiles, warped block by block."""
    back = np.linalg.inv(SHIFT) @ np.linalg.inv(onto) @ SHIFT
    quad = carried(onto, corners(source.shape[1], source.shape[0]))
    for top in range(0, plan.height, TILE):
        rows = min(TILE, plan.height - top)
        strip = np.full((rows, plan.width, 3), GREY, np.uint8)
        for left in range(0, plan.width, BLOCK):
            block = strip[:, left : left + BLOCK]
            _warp(source, back, (left, top), block)
            _grey_outside(quad, (left, top), block)
        yield strip


def _warp(source: Pixels, back: Matrix, origin: tuple[int, int], block: Pixels) -> None:
    """Fill one block of the laid picture from the part of the source it shows."""
    rows, columns = block.shape[:2]
    here = carried(back, corners(columns - 1, rows - 1) + origin)
    high, wide = source.shape[:2]
    left, top = np.clip(np.floor(here.min(0)) - REACH, 0, (wide - 1, high - 1)).astype(
        int
    )
    right, bottom = np.clip(np.ceil(here.max(0)) + REACH, 1, (wide, high)).astype(int)
    if right <= left or bottom <= top or not _touches(here, wide, high):
        return
    crop = np.ascontiguousarray(source[top:bottom, left:right])
    local = _moved(-left, -top) @ back @ _moved(*origin)
    cv2.warpPerspective(
        crop,
        local,
        (columns, rows),
        dst=block,
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )


def _touches(places: Points, wide: int, high: int) -> bool:
    low, top = places.min(0), places.max(0)
    return bool(top[0] > -1 and top[1] > -1 and low[0] < wide and low[1] < high)


def _moved(x: float, y: float) -> Matrix:
    return np.array([[1, 0, x], [0, 1, y], [0, 0, 1]], np.float64)


def inside(quad: Points, origin: tuple[float, float], size: tuple[int, int]) -> Mask:
    """Tell for each pixel middle of a block whether it lies in a convex quad.

    Returns
    -------
    bool array of shape `size` (rows, columns).
    """
    rows, columns = size
    x = origin[0] + np.arange(columns) + 0.5
    y = (origin[1] + np.arange(rows) + 0.5)[:, None]
    within = np.ones(size, bool)
    for (ax, ay), (bx, by) in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        ends = (bx - ax) * (y[[0, -1]] - ay) - (by - ay) * (x[[0, -1]] - ax)
        if ends.min() < 0:  # else the whole block lies on the inner side
            within &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0
    return within


def _grey_outside(quad: Points, origin: tuple[int, int], block: Pixels) -> None:
    rows, columns = block.shape[:2]
    ends = corners(columns, rows) + origin
    if all(inside(quad, (x - 0.5, y - 0.5), (1, 1)).item() for x, y in ends):
        return
    block[~inside(quad, origin, (rows, columns))] = GREY


def _working_mask(quad: Points, plan: Plan, working: Pixels) -> Mask:
    rows, columns = working.shape[:2]
    scale = np.array([columns / plan.width, rows / plan.height])
    # One working pixel is taken off all round: it may be mixed with the grey.
    mask = inside(quad * scale, (0, 0), (rows, columns))
    framed = np.pad(mask, 1, constant_values=False).astype(np.uint8)
    return np.asarray(cv2.erode(framed, np.ones((3, 3), np.uint8))[1:-1, 1:-1] > 0)


def _share_of_bled_sheet(mask: Mask, sheet: SheetSize) -> float:
    rows, columns = mask.shape
    wide = sheet.width_mm + 2 * sheet.around_mm
    high = sheet.height_mm + 2 * sheet.around_mm
    x = round(sheet.margin_mm / wide * columns)
    y = round(sheet.margin_mm / high * rows)
    return float(mask[y : rows - y, x : columns - x].mean())


def _write_previews(folder: Path, kept: Pixels, working: Pixels, mask: Mask) -> None:
    for name, width, most in PREVIEWS:
        body = preview(kept, width=width, most_bytes=most, kind=Path(name).suffix)
        (folder / name).write_bytes(body)
    _write_png(folder / "working.png", cv2.cvtColor(working, cv2.COLOR_RGB2BGR))
    _write_png(folder / "mask.png", mask.astype(np.uint8) * 255)


def preview(
    pixels: Pixels, *, width: int, most_bytes: int, kind: str = ".jpg"
) -> bytes:
    """Give a JPEG or WebP of that width (or less) that fits into `most_bytes`."""
    longest = max(1, round(width * max(1.0, pixels.shape[0] / pixels.shape[1])))
    small = cv2.cvtColor(reduced(pixels, longest), cv2.COLOR_RGB2BGR)
    body = b""
    for how in QUALITIES[kind]:
        body = bytes(cv2.imencode(kind, small, how)[1])
        if len(body) <= most_bytes:
            break
    return body


def _write_png(path: Path, pixels: npt.NDArray[Any]) -> None:
    if not cv2.imwrite(str(path), pixels, (cv2.IMWRITE_PNG_COMPRESSION, 2)):
        raise BoardError(f"{path.name} could not be written. Look at the board's disk.")
