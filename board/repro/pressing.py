"""Everything that is measured on a laid picture before the press, in one reading.

Places are dictionaries `x, y, width, height` in fractions of the trim. The picture is
read once, from the level of its pyramid that holds 150 to 300 pixels an inch: as fine
as a press screen shows.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from board.imaging import bleed, fold, press, resolution, rim
from board.repro import intake, store
from board.repro.darkroom import Limits, limits_for_settings, run_limited
from board.repro.in_hand import Look, Place, read_level
from board.repro.inking import try_inks
from board.repro.intake import Pixels
from board.repro.sheets import SheetSize, as_matrix, sheet_rect

RECIPE = "2026-11c"
AROUND_FOLD_MM = 60.0
WINDOW_MM = 7.0  # the height of a line of 20 pt
EDGES = ("left", "right", "top", "bottom")


@dataclass(frozen=True)
class Order:
    """What is to be measured; `type_boxes` are places with a `key`, lengths in mm."""

    matrix: Sequence[Sequence[float]]
    picture: tuple[int, int]
    sheet: SheetSize
    double: bool
    gutter_mm: float
    type_boxes: Sequence[Mapping[str, Any]] = field(default_factory=list)
    skip_mm: float = 0.4
    profile: str = ""
    ink_limit: float = 300.0


def press_apart(
    laid: str, original: tuple[str, str], order: Order, *, onto: str
) -> dict[str, Any]:
    """Measure a laid picture in the darkroom; its maps go to the folder `onto`.

    Parameters
    ----------
    laid : key of the laid picture.
    original : the SHA-256 of the original and the name it was sent under; only its
        headers are read.
    order : what to measure and against what.
    onto : key of the picture folder for `proof.jpg`, `gamut.png` and `ink.png`.

    Returns
    -------
    The measures, as `measure` gives them.
    """
    limits = limits_for_settings()
    with store.new_picture(onto) as folder:
        values = {
            "laid": str(store.picture_folder(laid)),
            "folder": str(folder),
            "order": asdict(order),
            "original": str(store.original_path(original[0])),
            "filename": original[1],
        }
        fenced = Limits(1000 << 20, limits.cpu_s, limits.wall_s, limits.file)
        return run_limited("press", values, fenced)


def press_job(
    laid: str, folder: str, order: dict[str, Any], original: str, filename: str
) -> dict[str, Any]:
    """Do `press_apart`'s work inside the darkroom."""
    order["sheet"] = SheetSize(**order["sheet"])
    order["picture"] = tuple(order["picture"])
    measures = measure(Path(laid), Order(**order), folder=Path(folder))
    return {**measures, "file": _file(Path(original), filename)}


def _file(original: Path, filename: str) -> dict[str, Any]:
    """What the original's headers say, or nothing when it is not there."""
    if not original.is_file():
        return {}
    huge = 1 << 62  # it was let in before, under the limits of that day
    seen = intake.examine(original, filename, max_bytes=huge, max_pixels=huge)
    return seen.as_dict()


def measure(laid: Path, order: Order, *, folder: Path | None = None) -> dict[str, Any]:
    """Measure everything in one reading of a laid picture.

    Parameters
    ----------
    laid : folder of the laid picture.
    folder : where the maps go; none are drawn without.

    Returns
    -------
    As JSON: `ppi`, `ppi_at`, `uncovered` mm by edge, `strips` by edge, `uprights` and
    `crossings` as places with `length_mm`, `type` by box, `gamut`, `ink`.
    """
    sheet, rect = order.sheet, sheet_rect(order.sheet)
    wide_mm = sheet.width_mm + 2 * sheet.around_mm
    pixels = read_level(laid, wide_mm)
    scale = pixels.shape[1] / wide_mm
    matrix = as_matrix(order.matrix)
    size_mm = (sheet.width_mm, sheet.height_mm)
    ppi, at = resolution.effective_ppi(
        matrix, size_mm, bleed_mm=sheet.bleed_mm, picture=order.picture
    )
    bare = resolution.uncovered_mm(
        matrix, order.picture, size_mm, bleed_mm=sheet.bleed_mm
    )
    look = Look(pixels, rect, scale, sheet)
    return {
        "ppi": round(ppi, 2),
        "ppi_at": at,
        "measured_at_ppi": round(scale * 25.4, 1),
        "uncovered": {edge: round(mm, 2) for edge, mm in bare.items()},
        "strips": dict(_strips(look, bare, order.skip_mm)),
        **_folds(look, order),
        "type": [_legible(look, box) for box in order.type_boxes],
        **try_inks(look, order.profile, order.ink_limit, folder=folder),
    }


def _strips(
    look: Look, bare: dict[str, float], skip_mm: float
) -> Iterator[tuple[str, dict[str, Any]]]:
    x, y, width, height = look.bled()
    left, top = look.column(x), look.row(y)
    right, bottom = look.column(x + width), look.row(y + height)
    deep = round((look.sheet.bleed_mm + bleed.BEYOND_MM) * look.scale)
    beyond = round((look.sheet.margin_mm - 1) * look.scale)
    gap = round(1.0 * look.scale)
    for edge in EDGES:
        turned = _turned(look.pixels, edge)
        start = {
            "left": left,
            "right": look.pixels.shape[1] - right,
            "top": top,
            "bottom": look.pixels.shape[0] - bottom,
        }[edge]
        ends = (top, bottom) if edge in {"left", "right"} else (left, right)
        part = turned[start : start + deep, ends[0] : ends[1]]
        outside = turned[max(0, start - beyond) : max(0, start - gap)]
        shown = bare[edge] == 0.0 and bool(len(outside))
        found = bleed.bare_strip(
            part,
            px_per_mm=look.scale,
            bleed_mm=look.sheet.bleed_mm,
            skip_mm=skip_mm + bare[edge],
            outside=outside[:, ends[0] : ends[1]] if shown else None,
        )
        if found is None and shown and skip_mm > bleed.STRAIGHT_MM:
            found = _rim(turned[:, ends[0] : ends[1]], start, look.scale, skip_mm)
        if found is not None:
            yield edge, asdict(found)


def _rim(
    turned: Pixels, start: int, scale: float, skip_mm: float
) -> bleed.Strip | None:
    before, inside = (round(mm * scale) for mm in rim.window_mm())
    top = max(0, start - before)
    return bleed.thin_rim(
        turned[top : start + inside],
        edge_row=float(start - top),
        px_per_mm=scale,
        skip_mm=skip_mm,
    )


def _turned(pixels: Pixels, edge: str) -> Pixels:
    """The picture with an edge's outside on top and the edge running to the right."""
    if edge == "left":
        return pixels.transpose(1, 0, 2)
    if edge == "right":
        return pixels.transpose(1, 0, 2)[::-1]
    return pixels if edge == "top" else pixels[::-1]


def _folds(look: Look, order: Order) -> dict[str, Any]:
    if not order.double:
        return {"uprights": [], "crossings": []}
    high = look.sheet.height_mm
    band = _around(order.gutter_mm / look.sheet.width_mm)
    upright = fold.uprights(
        np.ascontiguousarray(look.part(**band)), px_per_mm=look.scale, high_mm=high
    )
    wide = _around(min(AROUND_FOLD_MM / look.sheet.width_mm, 0.5))
    crossing = fold.thin_crossings(
        np.ascontiguousarray(look.part(**wide)), px_per_mm=look.scale
    )
    return {
        "uprights": [_told(stroke, band) for stroke in upright],
        "crossings": [_told(stroke, wide) for stroke in crossing],
    }


def _around(half: float) -> Place:
    return {"x": 0.5 - half, "y": 0.0, "width": 2 * half, "height": 1.0}


def _told(stroke: fold.Stroke, box: Place) -> dict[str, float]:
    x1, x2 = sorted((stroke.x1, stroke.x2))
    y1, y2 = sorted((stroke.y1, stroke.y2))
    return {
        "x": round(box["x"] + x1 * box["width"], 5),
        "y": round(box["y"] + y1 * box["height"], 5),
        "width": round(max(x2 - x1, 0.01) * box["width"], 5),
        "height": round(max(y2 - y1, 0.001) * box["height"], 5),
        "length_mm": round(stroke.length_mm, 1),
        "degrees": round(stroke.degrees, 1),
    }


def _legible(look: Look, box: Mapping[str, Any]) -> dict[str, Any]:
    sides = ("x", "y", "width", "height")
    place = {side: float(box[side]) for side in sides}
    part = look.part(**place)
    if min(part.shape[:2], default=0) < 2:
        return {"key": box["key"], "contrast": None}
    found = press.legibility(
        np.ascontiguousarray(part), px_per_mm=look.scale, window_mm=WINDOW_MM
    )
    return {
        "key": box["key"],
        "contrast": round(found.contrast, 3),
        "texture": round(found.texture, 2),
        **look.within(place, found),
    }
