"""What changed between two laid pictures, told on the sheet and drawn over it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import BoardError, NotFound
from board.repro import store
from board.repro.comparing import RECIPE, ChangeMap, Region, compare_pictures
from board.repro.intake import Pixels
from board.repro.sheets import Rect
from board.repro.unlaid import laid_working

__all__ = ["OVERLAY", "RECIPE", "Changed", "compare_kept", "on_sheet", "overlay"]

OVERLAY = "change.png"
INK = (194, 24, 116)  # one hue that neither art nor the grey surround often has
FAINT, FULL = 2.0, 14.0  # dE00 at which the ink begins and is at its strongest
STRONGEST = 190


@dataclass(frozen=True)
class Changed:
    """Regions on the sheet, largest first, and the dE00 this pair shows by itself."""

    regions: tuple[dict[str, float], ...]
    noise: float


def compare_kept(before: str, after: str, rect: Rect, *, onto: str) -> Changed:
    """Compare two laid pictures of one sheet and keep the drawing of what changed.

    Parameters
    ----------
    before, after : keys of laid pictures.
    rect : what both cover, in sheet units.
    onto : key of the picture folder that the drawing (`change.png`) goes to.

    Raises
    ------
    NotFound
        when one of the pictures is gone.
    """
    one, two, mask = _alike(before, after)
    changes = compare_pictures(one, two, mask=mask)
    with store.new_picture(onto) as folder:
        _write(folder / OVERLAY, overlay(changes))
    told = [on_sheet(region, rect) for region in changes.regions]
    told.sort(key=lambda region: -region["area"])
    return Changed(tuple(told), float(changes.noise_floor))


def _alike(before: str, after: str) -> tuple[Pixels, Pixels, Pixels]:
    """Both working copies at the size of the smaller, and where both show picture."""
    one, two = laid_working(before), laid_working(after)
    rows, columns = min(one.shape[:2], two.shape[:2])
    size = (columns, rows)
    masks = [_sized(_mask(key), size) > 254 for key in (before, after)]
    both = np.where(masks[0] & masks[1], 255, 0).astype(np.uint8)
    return _sized(one, size), _sized(two, size), both


def _sized(pixels: Pixels, size: tuple[int, int]) -> Pixels:
    if (pixels.shape[1], pixels.shape[0]) == size:
        return pixels
    out = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return np.asarray(out, dtype=np.uint8)


def _mask(key: str) -> Pixels:
    path = store.picture_folder(key) / "mask.png"
    mask = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    if mask is None:
        raise NotFound("The laid picture is not on the disk any more.")
    return np.asarray(mask, dtype=np.uint8)


def on_sheet(region: Region, rect: Rect) -> dict[str, float]:
    """A region in fractions of the trim; `area` too, `mean` and `peak` in dE00."""
    return {
        "x": round(rect.x + region.x * rect.width, 5),
        "y": round(rect.y + region.y * rect.height, 5),
        "width": round(region.w * rect.width, 5),
        "height": round(region.h * rect.height, 5),
        "area": round(region.area * rect.width * rect.height, 7),
        "mean": round(region.mean, 2),
        "peak": round(region.peak, 2),
    }


def overlay(changes: ChangeMap) -> npt.NDArray[np.uint8]:
    """Draw the differences as one ink of varying strength on nothing, BGRA."""
    strength = np.clip((changes.delta - FAINT) / (FULL - FAINT), 0, 1) * STRONGEST
    out = np.empty((*changes.delta.shape, 4), np.uint8)
    out[..., :3] = INK[::-1]
    out[..., 3] = strength.astype(np.uint8)
    return out


def _write(path: Path, pixels: npt.NDArray[Any]) -> None:
    if not cv2.imwrite(str(path), pixels, (cv2.IMWRITE_PNG_COMPRESSION, 6)):
        raise BoardError(f"{path.name} could not be written. Look at the board's disk.")
