"""What the press makes of a laid picture: soft proof, gamut and ink, with their maps."""

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import BoardError
from board.imaging import press
from board.repro import intake
from board.repro.in_hand import Look, Place
from board.repro.profiles import STAND_IN, Inks, Press, stand_in

MOST_COLOUR_PIXELS = 10_000_000
PROOF, GAMUT, INK = "proof.jpg", "gamut.png", "ink.png"
MAP_WIDTH = 1600
GAMUT_INK, HEAVY_INK = (194, 24, 116), (20, 78, 160)


def try_inks(
    look: Look, profile: str, ink_limit: float, *, folder: Path | None
) -> dict[str, Any]:
    """Separate and proof what lies within the bleed; `ink_limit` in per cent."""
    inks = Press(Path(profile).read_bytes() if profile else stand_in())
    x, y, width, height = look.bled()
    bled = np.ascontiguousarray(look.part(x, y, width, height))
    scale = look.scale * min(
        1.0, (MOST_COLOUR_PIXELS / (bled.shape[0] * bled.shape[1])) ** 0.5
    )
    bled = intake.reduced(bled, round(max(bled.shape[:2]) * scale / look.scale))
    colours = press.every_colour(bled)
    tried = inks.try_out(colours.colours)
    if folder is not None:
        _draw(folder, colours, tried, ink_limit)
    place = {"x": x, "y": y, "width": width, "height": height}
    # 8-bit inks round by up to half a per cent.
    ink = colours.spread(tried.ink)
    unreached, heavy = (
        press.patches(colours.spread(flagged), worth, px_per_mm=scale)
        for flagged, worth in (
            (tried.out > 0, colours.spread(tried.off)),
            (tried.ink > ink_limit + 0.5, ink),
        )
    )
    return {
        "profile": inks.name if profile else STAND_IN,
        "gamut": _places(look, place, unreached),
        "ink": {
            "most": round(float(np.quantile(ink, 0.9999)), 1),
            **_places(look, place, heavy),
        },
    }


def _places(
    look: Look, place: Place, found: tuple[float, list[press.Patch]]
) -> dict[str, Any]:
    share, spots = found
    told = [
        {
            **look.within(place, s),
            "share": round(s.share, 6),
            "worst": round(s.worst, 1),
        }
        for s in spots
    ]
    return {"share": round(share, 6), "places": told}


def _draw(
    folder: Path, colours: press.EveryColour, tried: Inks, ink_limit: float
) -> None:
    """The proof as a JPEG, and two transparent drawings that lie over it."""
    proof = intake.reduced(colours.spread(tried.proof), MAP_WIDTH)
    small = cv2.cvtColor(proof, cv2.COLOR_RGB2BGR)
    _write(folder / PROOF, small, (cv2.IMWRITE_JPEG_QUALITY, 88))
    size = (small.shape[1], small.shape[0])
    heavy = np.maximum(tried.ink - np.float32(ink_limit), 0)
    for name, ink, strength in (
        (GAMUT, GAMUT_INK, tried.out * 200),
        (INK, HEAVY_INK, np.minimum(heavy * 4 + 80 * (heavy > 0.5), 220)),
    ):
        drawn = np.empty((size[1], size[0], 4), np.uint8)
        drawn[..., :3] = ink[::-1]
        shown = colours.spread(strength.astype(np.uint8))
        drawn[..., 3] = cv2.resize(shown, size, interpolation=cv2.INTER_AREA)
        _write(folder / name, drawn, (cv2.IMWRITE_PNG_COMPRESSION, 3))


def _write(path: Path, pixels: npt.NDArray[Any], how: tuple[int, int]) -> None:
    if not cv2.imwrite(str(path), pixels, how):
        raise BoardError(f"{path.name} could not be written. Look at the board's disk.")
