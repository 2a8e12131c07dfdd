"""Two pictures in, how one lies on the other and what changed out."""

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from django.conf import settings

from board.imaging import change, registration
from board.imaging.change import ChangeMap, Region
from board.imaging.registration import Registration
from board.imaging.sheet import Matrix
from board.imaging.working import at_once, enlarging, seen_from
from board.repro import developing
from board.repro.intake import Pixels

__all__ = [
    "RECIPE",
    "ChangeMap",
    "Compared",
    "Region",
    "Registration",
    "as_json",
    "compare_files",
    "compare_laid",
    "compare_pictures",
    "drawn",
    "register_pictures",
]

RECIPE: Final = "2026-11e"
LONGEST: Final = 2000
MARK: Final = (170, 60, 40)
PALE: Final = (255, 255, 255)


@dataclass(frozen=True)
class Compared:
    """How two files compare; the pictures are working copies, `laid` in before's.

    There are no changes where it was refused, and none where only the plan is compared.
    """

    registration: Registration
    changes: ChangeMap | None
    seconds: float
    before: Pixels
    laid: Pixels | None


def register_pictures(
    newer: Pixels, older: Pixels, *, across_manners: bool = False
) -> Registration:
    """Find where the newer lies on the older; see `imaging.registration.register`."""
    return registration.register(newer, older, across_manners=across_manners)


def compare_pictures(
    before: Pixels, after: Pixels, *, mask: Pixels | None = None
) -> ChangeMap:
    """Map what changed between two laid pictures; see `imaging.change.change_map`."""
    return change.change_map(before, after, mask=mask)


def compare_laid(
    before: Pixels, after: Pixels, registered: Matrix
) -> tuple[ChangeMap, Pixels]:
    """Lay `after` on `before` by its matrix and map what changed.

    Parameters
    ----------
    before, after : uint8 RGB arrays.
    registered : 3x3, pixels of `after` to pixels of `before`, from pixel middles.

    Returns
    -------
    The change map in the frame of `before`, and `after` laid there.
    """
    size = (before.shape[1], before.shape[0])
    laid, mask = seen_from(after, registered, size)
    return change.change_map(before, laid, mask=mask), laid


def compare_files(
    before: Path, after: Path, *, across_manners: bool = False
) -> Compared:
    """Compare two files as they lie on disk.

    Parameters
    ----------
    before, after : pictures of any kind the board takes in.
    across_manners : one is drawn, the other painted: laid by the plan, colours are not
        compared and there are no changes.

    Returns
    -------
    Compared; the registration's matrix takes pixels of the file `after` to pixels of
    the file `before`, from pixel middles.

    Raises
    ------
    PictureRefused, TooLarge
    """
    begun = time.perf_counter()
    (older, older_size), (newer, newer_size) = at_once(copy_of, before, after)
    found = register_pictures(newer, older, across_manners=across_manners)
    if found.matrix is None:
        return Compared(found, None, time.perf_counter() - begun, older, None)
    changes: ChangeMap | None = None
    if across_manners:
        laid, _ = seen_from(newer, found.matrix, (older.shape[1], older.shape[0]))
    else:
        changes, laid = compare_laid(older, newer, found.matrix)
    full = (
        _onto(older, older_size)
        @ found.matrix
        @ np.linalg.inv(_onto(newer, newer_size))
    )
    whole = Registration(
        full / full[2, 2], found.confidence, found.error_bar, found.reason
    )
    return Compared(whole, changes, time.perf_counter() - begun, older, laid)


def _onto(copy: Pixels, size: tuple[int, int]) -> Matrix:
    return enlarging(size[0] / copy.shape[1], size[1] / copy.shape[0])


def copy_of(path: Path) -> tuple[Pixels, tuple[int, int]]:
    """Develop a file into a working copy; gives the developed size too."""
    allowed = {
        "max_bytes": int(settings.BOARD_MAX_BYTES),
        "max_pixels": int(settings.BOARD_MAX_PIXELS),
    }
    return developing.develop_small(path, LONGEST, **allowed)


def as_json(compared: Compared) -> dict[str, Any]:
    """Give what `compare` writes for one pair."""
    found = compared.registration
    out: dict[str, Any] = {
        "registered": found.matrix is not None,
        "confidence": round(found.confidence, 4),
        "seconds": round(compared.seconds, 3),
    }
    if found.matrix is None:
        return {**out, "reason": found.reason, "mirrored": found.mirrored}
    regions = compared.changes.regions if compared.changes else ()
    return {
        **out,
        "error_bar_percent": round(100 * found.error_bar, 4),
        "matrix": found.matrix.tolist(),
        "changes": [
            {
                "bbox": [round(v, 5) for v in (place.x, place.y, place.w, place.h)],
                "delta_e": round(place.mean, 2),
                "peak": round(place.peak, 2),
                "area": round(place.area, 6),
            }
            for place in regions
        ],
    }


def drawn(compared: Compared) -> Pixels:
    """Draw older, newer laid over it and the change map, one above the other, named.

    The changes are numbered as `compare` lists them, in both lower pictures. Where only
    the plan is compared there is no map: an empty one would say that nothing changed.
    """
    before = compared.before
    if compared.laid is None:
        return before
    high, wide = before.shape[:2]
    laid = np.ascontiguousarray(compared.laid).copy()
    pictures = {"older": before, "newer, laid over it": laid}
    if compared.changes is not None:
        heat = np.clip(compared.changes.delta * 8, 0, 255).astype(np.uint8)
        paper = np.repeat((255 - heat)[..., None], 3, axis=2)
        pictures["change map: the darker, the further the colour moved"] = paper
        for number, place in enumerate(compared.changes.regions, 1):
            start = (round(place.x * wide), round(place.y * high))
            end = (round((place.x + place.w) * wide), round((place.y + place.h) * high))
            for picture in (laid, paper):
                _framed(picture, start, end, str(number))
    rows: list[Pixels] = []
    for name, picture in pictures.items():
        rows += [_caption(name, wide), picture]
    return np.vstack(rows)


def _framed(
    picture: Pixels, start: tuple[int, int], end: tuple[int, int], number: str
) -> None:
    """Frame a change, light outside so that it shows on any paint, and number it."""
    pen = max(1, picture.shape[1] // 700)
    size = max(0.4, picture.shape[1] / 1800)
    cv2.rectangle(picture, start, end, PALE, 3 * pen)
    cv2.rectangle(picture, start, end, MARK, pen)
    face = cv2.FONT_HERSHEY_SIMPLEX
    (wide, high), low = cv2.getTextSize(number, face, size, pen)
    tall = high + low + 2 * pen
    top = start[1] - tall if start[1] >= tall else end[1] + 2 * pen
    corner = (start[0] + wide + 6 * pen, top + tall)
    cv2.rectangle(picture, (start[0], top), corner, PALE, cv2.FILLED)
    at = (start[0] + 3 * pen, top + high + pen)
    cv2.putText(picture, number, at, face, size, MARK, pen, cv2.LINE_AA)


def _caption(text: str, wide: int) -> Pixels:
    """Write a line on a strip of neutral grey as wide as the picture."""
    size = max(0.4, wide / 2000)
    strip = np.full((round(44 * size) + 8, wide, 3), 128, np.uint8)
    cv2.putText(
        strip, text, (round(12 * size), round(31 * size) + 4),
        cv2.FONT_HERSHEY_SIMPLEX, size, (255, 255, 255), max(1, round(1.6 * size)),
        cv2.LINE_AA,
    )  # fmt: skip
    return strip
