"""A second, independent camera and scanner: turned in space, lamps, fingers, rulers."""

from dataclasses import dataclass

import cv2
import numpy as np

from board.imaging.colour import Bytes
from board.imaging.sheet import Matrix
from tests.imaging.storyboards.desk import Leaf
from tests.imaging.storyboards.marks import Light, Points

TABLES = ((0.55, 0.42, 0.3), (0.25, 0.24, 0.25), (0.75, 0.74, 0.72), (0.35, 0.42, 0.45))


@dataclass
class Taking:
    """How a leaf is taken: as photograph or scan, how large, how well."""

    photo: bool
    longest: int
    tilt: float = 12.0
    turn: float = 1.0
    blur: float = 0.6
    noise: float = 2.0


def seen(dice: np.random.Generator, leaf: Leaf, how: Taking) -> tuple[Bytes, Matrix]:
    """Give the picture (uint8 RGB) and the matrix from millimetres to its pixels."""
    matrix, size = _placed(dice, leaf, how)
    pixels = matrix @ np.diag([1 / leaf.px, 1 / leaf.px, 1])
    scale = size[0] / leaf.light.shape[1]
    page = (
        leaf.light
        * (1 + 0.012 * dice.standard_normal(leaf.light.shape[:2], np.float32))[
            ..., None
        ]
    )
    if scale < 0.9:
        page = cv2.GaussianBlur(page, (0, 0), 0.4 / scale)
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    centred = half @ pixels @ np.linalg.inv(half)
    flat = cv2.warpPerspective(page, centred, size, flags=cv2.INTER_LINEAR)
    solid = cv2.warpPerspective(np.ones(page.shape[:2], np.float32), centred, size)[
        ..., None
    ]
    out = _table(dice, size, photo=how.photo) * (1 - solid) + flat * solid
    if how.photo:
        _things(dice, out, leaf, matrix)
        out *= _lamp(dice, size)[..., None]
    out = cv2.GaussianBlur(out, (0, 0), max(0.3, how.blur))
    out = 252 * out + how.noise * dice.standard_normal((*out.shape[:2], 1), np.float32)
    code = [cv2.IMWRITE_JPEG_QUALITY, int(dice.integers(70, 96))]
    packed = cv2.imencode(
        ".jpg", np.clip(out[..., ::-1], 0, 255).astype(np.uint8), code
    )[1]
    return np.ascontiguousarray(
        cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1]
    ), matrix


def _placed(
    dice: np.random.Generator, leaf: Leaf, how: Taking
) -> tuple[Matrix, tuple[int, int]]:
    wide, high = leaf.size
    scale = how.longest / max(wide, high)
    if not how.photo:
        lean = np.radians(dice.normal(0, how.turn))
        c, s = scale * np.cos(lean), scale * np.sin(lean)
        shift = np.array([wide, high]) * scale / 2 - np.array([[c, -s], [s, c]]) @ (
            wide / 2,
            high / 2,
        )
        size = (round(wide * scale), round(high * scale))
        return np.array([[c, -s, shift[0]], [s, c, shift[1]], [0, 0, 1]]), size
    size = (how.longest, round(how.longest * 0.75))
    if high > wide:
        size = size[::-1]
    around, over = np.radians(dice.uniform(-how.tilt, how.tilt, 2))
    spin = np.radians(dice.normal(0, 2 * how.turn))
    turned = (
        cv2.Rodrigues(np.array([around, 0, 0.0]))[0]
        @ cv2.Rodrigues(np.array([0, over, 0.0]))[0]
    )
    turned = turned @ cv2.Rodrigues(np.array([0, 0, spin]))[0]
    far = 1.5 * max(wide, high)
    to = np.diag([1.0, 1, 1]) @ np.column_stack(
        [turned[:, 0], turned[:, 1], [0, 0, far]]
    )
    to = to @ np.array([[1, 0, -wide / 2], [0, 1, -high / 2], [0, 0, 1]])
    edge = np.array([[[0, 0], [wide, 0], [wide, high], [0, high]]], np.float64)
    at = cv2.perspectiveTransform(edge, to)[0]
    low, top = at.min(axis=0), at.max(axis=0)
    fit = min(size[0] / (top - low)[0], size[1] / (top - low)[1]) * dice.uniform(
        0.84, 0.98
    )
    shift = np.array(size) / 2 - fit * (low + top) / 2
    return np.array([[fit, 0, shift[0]], [0, fit, shift[1]], [0, 0, 1]]) @ to, size


def _table(dice: np.random.Generator, size: tuple[int, int], *, photo: bool) -> Light:
    if not photo:
        return np.full(
            (size[1], size[0], 3), dice.choice([0.97, 1.0, 0.15]), np.float32
        )
    base = np.array(TABLES[int(dice.integers(len(TABLES)))], np.float32)
    wave = dice.normal(0, 0.05, (size[1] // 40, size[0] // 7)).astype(np.float32)
    return (
        base * (1 + cv2.resize(wave, size, interpolation=cv2.INTER_LINEAR))[..., None]
    )


def _things(dice: np.random.Generator, out: Light, leaf: Leaf, matrix: Matrix) -> None:
    """Lay a ruler, a pencil or two fingers at the margin of the leaf."""
    what = str(dice.choice(["", "", "ruler", "fingers", "pencil"]))
    if not what:
        return
    wide, high = leaf.size
    y0 = high - 3.0
    colour = {
        "ruler": (0.85, 0.8, 0.6),
        "pencil": (0.2, 0.35, 0.25),
        "fingers": (0.8, 0.6, 0.5),
    }[what]
    if what == "fingers":
        for y in dice.uniform(0.3, 0.7) * high + np.array([0, 17.0]):
            _patch(
                out,
                matrix,
                [(-30, y), (3, y), (5, y + 6), (3, y + 13), (-30, y + 14)],
                colour,
            )
        return
    thick = 28.0 if what == "ruler" else 7.0
    _patch(
        out,
        matrix,
        [(20, y0), (wide - 15, y0 + 2), (wide - 15, y0 + thick), (20, y0 + thick)],
        colour,
    )
    for x in np.arange(25, wide - 20, 1.0 if what == "ruler" else 900.0):
        ends = [(x, y0 + 0.5), (x + 0.25, y0 + 0.5), (x + 0.25, y0 + 5), (x, y0 + 5)]
        _patch(out, matrix, ends, (0.2, 0.2, 0.2))


def _patch(
    out: Light,
    matrix: Matrix,
    outline: list[tuple[float, float]],
    colour: Points | tuple[float, ...],
) -> None:
    at = cv2.perspectiveTransform(np.array([outline], np.float64), matrix)[0]
    cv2.fillPoly(out, [np.round(at * 16).astype(np.int32)], colour, cv2.LINE_AA, 4)


def _lamp(dice: np.random.Generator, size: tuple[int, int]) -> Light:
    """Light that falls off from a lamp, and now and then a shadow with a soft edge."""
    y, x = np.mgrid[: size[1], : size[0]].astype(np.float32) / max(size)
    at = dice.uniform(-0.2, 1.2, 2)
    fall = 1 / (1 + dice.uniform(0.1, 0.9) * ((x - at[0]) ** 2 + (y - at[1]) ** 2))
    if dice.random() < 0.4:
        way = dice.uniform(0, 6.3)
        edge = (
            np.cos(way) * (x - 0.5) + np.sin(way) * (y - 0.4) - dice.uniform(-0.1, 0.25)
        )
        fall *= 1 - dice.uniform(0.15, 0.45) / (
            1 + np.exp(-edge / dice.uniform(0.006, 0.04))
        )
    return np.asarray(fall / fall.max() * dice.uniform(0.8, 1.02), np.float32)
