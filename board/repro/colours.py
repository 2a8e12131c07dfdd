"""The main colours, tones and composition of a laid picture, as its working copy shows.

Reckoned on a screen picture under D50: figures compare pictures of one book, they are no
colour measurement of paper.
"""

import json
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from board.imaging import palette
from board.imaging.colour import Floats, lab_to_srgb, srgb_to_lab
from board.imaging.palette import Tones
from board.imaging.working import shrunk
from board.repro import store
from board.repro.intake import Pixels, working_copy_of
from board.repro.sheets import SheetSize, sheet_rect

__all__ = [
    "Colours",
    "Main",
    "Tones",
    "alike",
    "colours_of",
    "keep_colours",
    "laid_colours",
]

KEPT, MANY = "colours.json", 6

LONGEST = 320


@dataclass(frozen=True)
class Main:
    """One main colour: Lab, its nearest sRGB as #RRGGBB, and its share 0..1."""

    lab: tuple[float, float, float]
    hex: str
    area: float


@dataclass(frozen=True)
class Colours:
    """Main colours, the largest first, tones, and the layout for `alike`."""

    main: tuple[Main, ...]
    tones: Tones
    layout: Floats


@lru_cache(maxsize=512)
def laid_colours(picture: str, sheet: SheetSize, k: int = MANY) -> Colours:
    """Give the colours of a laid picture within the trim.

    They are kept beside the picture when it is laid; one laid before that, or another
    number of colours, is reckoned now.

    Parameters
    ----------
    picture : key of the laid picture; what lies under a key never changes.
    sheet : the sheet it was laid on.
    k : how many colours, 5 to 7 for a strip of a book.

    Raises
    ------
    NotFound
        when the laid picture is gone.
    """
    folder = store.picture_folder(picture)
    if k == MANY and (folder / KEPT).exists():
        return _from_json((folder / KEPT).read_text(encoding="utf-8"))
    return colours_of(_trimmed(working_copy_of(folder / "working.png"), sheet), k)


def keep_colours(folder: Path, working: Pixels, sheet: SheetSize) -> None:
    """Write the colours of a working copy beside it, for pages that show many."""
    found = asdict(colours_of(_trimmed(working, sheet)))
    body = json.dumps({**found, "layout": found["layout"].tolist()})
    (folder / KEPT).write_text(body, encoding="utf-8")


def _from_json(body: str) -> Colours:
    told = json.loads(body)
    main = tuple(
        Main((one["lab"][0], one["lab"][1], one["lab"][2]), one["hex"], one["area"])
        for one in told["main"]
    )
    layout = np.asarray(told["layout"], dtype=np.float32)
    return Colours(main, Tones(**told["tones"]), layout)


def _trimmed(pixels: Pixels, sheet: SheetSize) -> Pixels:
    """Cut the trim out of a laid picture."""
    rows, columns = pixels.shape[:2]
    rect = sheet_rect(sheet)
    x0, x1 = (round((at - rect.x) / rect.width * columns) for at in (0.0, 1.0))
    y0, y1 = (round((at - rect.y) / rect.height * rows) for at in (0.0, 1.0))
    return pixels[y0:y1, x0:x1]


def colours_of(pixels: Pixels, k: int = MANY) -> Colours:
    """Give the colours of a whole picture, uint8 (rows, columns, 3), sRGB."""
    small, _ = shrunk(np.ascontiguousarray(pixels), LONGEST)
    lab = srgb_to_lab(small)
    middles, areas = palette.palette(lab, k)
    main = tuple(
        Main((float(one[0]), float(one[1]), float(one[2])), _hex(one), area)
        for one, area in zip(middles, areas.tolist(), strict=True)
    )
    return Colours(main, palette.tones(lab), palette.composition(lab))


def alike(one: Colours, two: Colours) -> float:
    """Give how alike two pictures are composed, -1 to 1; see `imaging.palette.alike`."""
    return palette.alike(one.layout, two.layout)


def _hex(lab: Floats) -> str:
    return "#" + bytes(lab_to_srgb(lab)).hex().upper()
