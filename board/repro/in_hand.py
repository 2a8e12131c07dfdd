"""A laid picture in hand: its pixels on one level, and places on it by the sheet."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from board.errors import BoardError
from board.repro.intake import Pixels
from board.repro.sheets import Rect, SheetSize
from board.repro.tiles import TileIndex, tile

Place = dict[str, float]
LEAST_PPI = 150


@dataclass(frozen=True)
class Look:
    """A laid picture in hand: `scale` is pixels a millimetre, `rect` what it covers."""

    pixels: Pixels
    rect: Rect
    scale: float
    sheet: SheetSize

    def column(self, x: float) -> int:
        share = (x - self.rect.x) / self.rect.width
        return int(
            np.clip(round(share * self.pixels.shape[1]), 0, self.pixels.shape[1])
        )

    def row(self, y: float) -> int:
        share = (y - self.rect.y) / self.rect.height
        return int(
            np.clip(round(share * self.pixels.shape[0]), 0, self.pixels.shape[0])
        )

    def part(self, x: float, y: float, width: float, height: float) -> Pixels:
        rows = slice(self.row(y), self.row(y + height))
        return self.pixels[rows, self.column(x) : self.column(x + width)]

    def bled(self) -> tuple[float, float, float, float]:
        x = self.sheet.bleed_mm / self.sheet.width_mm
        y = self.sheet.bleed_mm / self.sheet.height_mm
        return -x, -y, 1 + 2 * x, 1 + 2 * y

    def within(self, box: Place, inner: Any) -> Place:
        """A place given in fractions of a part, in fractions of the trim."""
        return {
            "x": round(box["x"] + inner.x * box["width"], 5),
            "y": round(box["y"] + inner.y * box["height"], 5),
            "width": round(inner.width * box["width"], 5),
            "height": round(inner.height * box["height"], 5),
        }


def read_level(laid: Path, wide_mm: float) -> Pixels:
    """Read the level with 150 to 300 pixels an inch of print, or the full one below.

    Parameters
    ----------
    laid : folder of the laid picture.
    wide_mm : what it is wide on the printed page.

    Raises
    ------
    NotFound
        when the laid picture is gone.
    """
    index = TileIndex.load(laid / "laid.index")
    full = index.levels[-1]
    ppi = full.width / wide_mm * 25.4
    enough = [
        at
        for at, level in enumerate(index.levels)
        if ppi * level.width / full.width >= LEAST_PPI
    ]
    at = enough[0] if enough else len(index.levels) - 1
    level = index.levels[at]
    out = np.empty((level.height, level.width, 3), np.uint8)
    with (laid / "laid.tif").open("rb") as file, ThreadPoolExecutor(2) as pool:

        def fill(place: tuple[int, int]) -> None:
            column, row = place
            body = tile(file.fileno(), index, at, column=column, row=row)
            shown = cv2.imdecode(np.frombuffer(body, np.uint8), cv2.IMREAD_COLOR_RGB)
            if shown is None:
                raise BoardError("A tile of the laid picture is damaged. Lay it again.")
            part = out[row * index.tile :, column * index.tile :][
                : index.tile, : index.tile
            ]
            part[...] = shown[: part.shape[0], : part.shape[1]]

        places = [(c, r) for r in range(level.rows) for c in range(level.columns)]
        list(pool.map(fill, places))
    return out
