"""Torn pieces of printed matter pasted into painted art, and art that holds none.

The printed matter is cut from scikit-image's samples, nobody's artwork; the art is
painted by chance. Everything follows from a seed.
"""

import time
from dataclasses import dataclass

import cv2
import numpy as np
from skimage import data

from board.imaging.clipping import find_clipping
from tests.bench.imaging_art import SIZE, Picture, blob, dice, noise, painted

SHEETS = ("retina", "chelsea", "coffee", "rocket", "page", "text", "moon", "coins")
EACH = 6  # arts with a piece and arts without one, a seed


@dataclass(frozen=True)
class Paste:
    """A clipping as photographed, an art, and where the piece lies (or nowhere)."""

    clipping: Picture
    art: Picture
    box: tuple[float, float, float, float] | None


def paste(seed: int, place: int, *, with_piece: bool) -> Paste:
    """Make one case; without a piece the art holds one of another sheet."""
    rng = dice(seed, place, int(with_piece))
    names = list(rng.permutation(SHEETS))
    clipping = sheet(rng, names[0])
    art = painted(rng)
    art, box = pasted(rng, art, clipping if with_piece else sheet(rng, names[1]))
    return Paste(shot(rng, clipping), shot(rng, art), box if with_piece else None)


def sheet(rng: np.random.Generator, name: str) -> Picture:
    """Give one printed sheet about 900 pixels long, cut from a sample."""
    whole = getattr(data, name)()
    rgb = whole if whole.ndim == 3 else np.dstack([whole] * 3)
    k = rng.uniform(800, 1100) / max(rgb.shape[:2])
    how = cv2.INTER_CUBIC if k > 1 else cv2.INTER_AREA
    return cv2.resize(rgb[..., :3], None, fx=k, fy=k, interpolation=how)


def pasted(
    rng: np.random.Generator, art: Picture, clipping: Picture
) -> tuple[Picture, tuple[float, float, float, float]]:
    """Tear a piece out, turn it, scale it, paste it, and wash thinly over some of it."""
    high, wide = clipping.shape[:2]
    r = rng.uniform(0.26, 0.42) * min(high, wide)
    x, y = rng.uniform(0.4, 0.6) * wide, rng.uniform(0.4, 0.6) * high
    torn = np.zeros((high, wide), np.uint8)
    cv2.fillPoly(torn, [blob(rng, x, y, r)], 255)
    turn, scale = rng.uniform(0, 360), rng.uniform(0.45, 1.1)
    matrix = cv2.getRotationMatrix2D((float(x), float(y)), float(turn), float(scale))
    goal = rng.uniform([0.25, 0.3], [0.75, 0.7]) * SIZE
    matrix[:, 2] += goal - (x, y)
    laid = cv2.warpAffine(clipping, matrix, SIZE, flags=cv2.INTER_AREA)
    there = cv2.warpAffine(torn, matrix, SIZE).astype(np.float32)[..., None] / 255
    out = art * (1 - there) + laid * there
    wash = (noise(rng, SIZE, 160) > 0.9)[..., None] * rng.uniform(0.2, 0.5)
    out = out * (1 - wash) + wash * rng.uniform(40, 220, 3)
    x0, y0, w, h = cv2.boundingRect((there[..., 0] > 0.5).astype(np.uint8))
    box = (x0 / SIZE[0], y0 / SIZE[1], w / SIZE[0], h / SIZE[1])
    return np.clip(out, 0, 255).astype(np.uint8), box


def shot(rng: np.random.Generator, picture: Picture) -> Picture:
    """Photograph it: another white, softness, noise, JPEG."""
    cast = rng.uniform(0.92, 1.06, 3) * picture.astype(np.float32)
    soft = cv2.GaussianBlur(cast, (0, 0), float(rng.uniform(0.4, 0.9)))
    grainy = np.clip(soft + rng.normal(0, 2, soft.shape), 0, 255).astype(np.uint8)
    body = cv2.imencode(".jpg", grainy, (cv2.IMWRITE_JPEG_QUALITY, 88))[1]
    return cv2.imdecode(body, cv2.IMREAD_COLOR)


def overlap(
    one: tuple[float, float, float, float], two: tuple[float, float, float, float]
) -> float:
    """Give the shared area as a part of both together."""
    wide = min(one[0] + one[2], two[0] + two[2]) - max(one[0], two[0])
    high = min(one[1] + one[3], two[1] + two[3]) - max(one[1], two[1])
    both = max(0.0, wide) * max(0.0, high)
    return both / (one[2] * one[3] + two[2] * two[3] - both)


def clippings(seeds: list[int]) -> str:
    """Look for every piece; one row: found on its place, false, overlap, seconds."""
    found = false = asked = 0
    over: list[float] = []
    took: list[float] = []
    for seed in seeds:
        for place in range(EACH):
            for with_piece in (True, False):
                case = paste(seed, place, with_piece=with_piece)
                begun = time.perf_counter()
                said = find_clipping(case.clipping, case.art)
                took.append(time.perf_counter() - begun)
                asked += with_piece
                if said.box is None or not said.found:
                    continue
                shared = overlap(said.box, case.box) if case.box else 0.0
                found += shared > 0.3
                false += shared <= 0.3
                over += [shared] if case.box else []
    middle = float(np.median(over)) if over else float("nan")
    return (
        f"clippings: {found} of {asked} found, {false} false "
        f"({asked} arts without one), median overlap {middle:.2f}, "
        f"{np.median(took):.2f} s each"
    )
