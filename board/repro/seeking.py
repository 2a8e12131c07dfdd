"""A clipping's picture and the art's picture in, where the one lies in the other out."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np

from board.errors import NotFound
from board.imaging.clipping import Found, find_clipping
from board.imaging.sheet import apply, inverse
from board.repro import store
from board.repro.comparing import copy_of
from board.repro.intake import Pixels, working_copy_of
from board.repro.sheets import Points, Rect, corners
from board.repro.unlaid import GLIMPSE, glimpse_key, laid_working

__all__ = ["RECIPE", "Found", "Sought", "as_json", "seek_files", "seek_kept"]

RECIPE: Final = "2026-11"
Outline = list[list[float]]


@dataclass(frozen=True)
class Sought:
    """A piece that was found: its outline on the sheet and on the photograph.

    Places are fractions of the trim and of the photograph; `likeness` is the mean
    local correlation, 0 to 1.
    """

    likeness: float
    on_sheet: Outline
    on_photo: Outline


def seek_kept(photo: str, laid: str, rect: Rect) -> Sought | None:
    """Look for a kept photograph of a source on a laid picture.

    Parameters
    ----------
    photo : key of the photograph, whose glimpse is searched for.
    laid : key of the laid picture.
    rect : what the laid picture covers on the sheet.

    Raises
    ------
    NotFound
        when either picture is gone from the disk.
    """
    piece, art = _glimpse(photo), _art(laid)
    found = find_clipping(piece, art)
    if not found.found or found.box is None or found.matrix is None:
        return None
    high, wide = art.shape[:2]
    x, y, width, height = found.box
    box = np.array([x, y]) + corners(width, height)
    there = _meeting(box * (wide, high), apply(found.matrix, corners(*_size(piece))))
    here = apply(inverse(found.matrix), there)
    on_art = there / (wide, high) * (rect.width, rect.height) + (rect.x, rect.y)
    on_photo = np.clip(here / _size(piece), 0, 1)
    return Sought(found.confidence, _rounded(on_art), _rounded(on_photo))


def _size(picture: Pixels) -> tuple[int, int]:
    return picture.shape[1], picture.shape[0]


def _meeting(one: Points, other: Points) -> Points:
    """Where two convex outlines overlap, or the first when they do not."""
    area, both = cv2.intersectConvexConvex(
        one.astype(np.float32), other.astype(np.float32)
    )
    if area <= 0 or both is None or len(both) < 3:
        return one
    return np.asarray(both, np.float64).reshape(-1, 2)


def _rounded(outline: Points) -> Outline:
    return [[round(float(x), 4), round(float(y), 4)] for x, y in outline]


def _glimpse(photo: str) -> Pixels:
    path = store.picture_folder(glimpse_key(photo)) / GLIMPSE
    if not path.is_file():
        raise NotFound("The photograph of the source is not on the disk any more.")
    return working_copy_of(path)


@lru_cache(maxsize=1)
def _art(laid: str) -> Pixels:
    # One picture is searched for many sources in a row.
    return laid_working(laid)


def seek_files(clipping: Path, art: Path) -> Found:
    """Look for the clipping in the art; raises PictureRefused for what is no picture."""
    return find_clipping(copy_of(clipping)[0], copy_of(art)[0])


def as_json(found: Found) -> dict[str, Any]:
    """Say it as the command writes it: found, confidence, bbox in fractions of the art."""
    told: dict[str, Any] = {
        "found": found.found,
        "confidence": round(found.confidence, 3),
    }
    if found.found and found.box is not None:
        told["bbox"] = [round(side, 5) for side in found.box]
    return told
