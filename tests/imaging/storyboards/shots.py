"""A page under a scanner or a camera: where its places come to lie in the picture."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes
from board.imaging.sheet import Matrix
from tests.imaging.storyboards.marks import Light


@dataclass
class Shot:
    """How a page is taken."""

    longest: int = 2200
    phone: bool = False
    turn: float = 1.0
    lean: float = 0.06
    shade: float = 0.0
    blur: float = 0.6
    noise: float = 1.5
    quality: int = 88
    table: str = "plain"
    cropped: bool = False
    vignette: float = 0.0


def tabletop(dice: np.random.Generator, size: tuple[int, int], kind: str) -> Light:
    """Give a table of wood, cloth, stone or one colour."""
    wide, high = size
    base = np.array(
        [[0.45, 0.33, 0.24], [0.3, 0.32, 0.36], [0.62, 0.55, 0.46], [0.8, 0.79, 0.76],
         [0.16, 0.15, 0.15]][int(dice.integers(5))], np.float32)  # fmt: skip
    out = np.ones((high, wide, 3), np.float32) * base
    if kind == "wood":
        noise = dice.normal(0, 1, (high // 4 + 1, wide // 120 + 2)).astype(np.float32)
        grain = cv2.resize(noise, (wide, high), interpolation=cv2.INTER_CUBIC)
        out *= (1 + 0.13 * grain)[..., None]
        for at in range(0, high, max(60, high // 6)):
            out[at : at + 3] *= 0.5
    elif kind == "cloth":
        y, x = np.mgrid[:high, :wide]
        weave = np.sin(x * 1.1) * np.sin(y * 1.1)
        out *= (1 + 0.15 * weave)[..., None].astype(np.float32)
    elif kind == "stone":
        spots = dice.normal(0, 1, (high // 3 + 1, wide // 3 + 1)).astype(np.float32)
        spots = cv2.resize(spots, (wide, high), interpolation=cv2.INTER_LINEAR)
        out *= (1 + 0.18 * spots)[..., None]
    return np.clip(out, 0, 1)


def taken(dice: np.random.Generator, page: Light, how: Shot) -> tuple[Bytes, Matrix]:
    """Scan or photograph a page.

    Returns
    -------
    uint8 RGB picture, and the 3 x 3 matrix from page pixels to picture pixels, both
    counted from the outer corner of the top left pixel.
    """
    high, wide = page.shape[:2]
    size, to = _seen_at(dice, (wide, high), how)
    at = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32)
    matrix = np.asarray(cv2.getPerspectiveTransform(at, to.astype(np.float32)))
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    pixels = np.linalg.inv(half) @ matrix @ half
    ground = (
        tabletop(dice, size, how.table)
        if how.phone
        else np.ones((size[1], size[0], 3), np.float32) * dice.uniform(0.85, 1.0)
    )
    scale = size[0] / wide
    source = cv2.GaussianBlur(page, (0, 0), 0.45 / scale) if scale < 0.8 else page
    laid = cv2.warpPerspective(source, pixels, size, flags=cv2.INTER_LINEAR)
    solid = np.ones((high, wide), np.float32)
    cover = cv2.warpPerspective(solid, pixels, size, flags=cv2.INTER_LINEAR)
    out = ground
    if how.phone:
        small = cv2.resize(cover, None, fx=1 / 8, fy=1 / 8)
        small = cv2.GaussianBlur(small, (0, 0), size[0] / 880)
        shadow = cv2.resize(small, size)
        out = ground * (1 - 0.45 * shadow)[..., None]
    out = out * (1 - cover[..., None]) + laid * cover[..., None]
    return _developed(dice, out, how), matrix


def _seen_at(
    dice: np.random.Generator, page: tuple[int, int], how: Shot
) -> tuple[tuple[int, int], Light]:
    wide, high = page
    scale = how.longest / max(page)
    size = (round(wide * scale), round(high * scale))
    edge = dice.uniform(0.03, 0.09) if how.phone else dice.uniform(-0.004, 0.012)
    if how.cropped:
        edge = -0.03
    box = np.array([[edge, edge], [1 - edge, edge], [1 - edge, 1 - edge],
                    [edge, 1 - edge]])  # fmt: skip
    if how.phone:
        box += dice.uniform(-how.lean, how.lean, (4, 2)) * 0.6
    to = box * size
    turn = np.radians(dice.normal(0, how.turn / 2))
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    middle = np.array(size) / 2
    return size, ((to - middle) @ spin.T + middle).astype(np.float32)


def _developed(dice: np.random.Generator, light: Light, how: Shot) -> Bytes:
    high, wide = light.shape[:2]
    if how.shade:
        coarse = dice.uniform(1 - how.shade, 1, (3, 3)).astype(np.float32)
        fall = cv2.resize(coarse, (wide, high), interpolation=cv2.INTER_CUBIC)
        light = light * np.clip(fall, 0.15, 1.2)[..., None]
        light = light * dice.uniform(0.93, 1.0, 3).astype(np.float32)
    if how.vignette:
        y, x = np.ogrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
        light = light * (1 - how.vignette * (x**2 + y**2) / 2)[..., None]
    if how.shade > 0.3 and dice.random() < 0.6:
        light = light * _hand(dice, wide, high)[..., None]
    out = cv2.GaussianBlur(light * 250, (0, 0), max(how.blur, 0.05))
    out += how.noise * dice.standard_normal(out.shape, dtype=np.float32)
    plain = np.clip(out, 0, 255).astype(np.uint8)
    packed = cv2.imencode(
        ".jpg", plain[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, how.quality]
    )[1]
    return np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])


def _hand(dice: np.random.Generator, wide: int, high: int) -> Light:
    """Give the shadow of whoever holds the camera."""
    start, end = dice.uniform(0.1, 0.9, 2)
    y, x = np.mgrid[:high, :wide].astype(np.float32)
    edge = y / high - (start + (end - start) * x / wide)
    soft = 1 / (1 + np.exp(-edge / dice.uniform(0.01, 0.05)))
    return 1 - dice.uniform(0.25, 0.5) * soft
