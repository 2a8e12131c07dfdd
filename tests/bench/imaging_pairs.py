"""Pairs of pictures with known truth: painted, photographed, edited and shot again.

Everything follows from a seed. The pictures are drawn here by chance or taken from
scikit-image's own samples; none is anybody's artwork.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import cv2
import numpy as np

from board.imaging.colour import srgb_to_lab
from board.imaging.difference import delta_e_2000
from tests.bench.imaging_art import (
    SIZE,
    Picture,
    artwork,
    blob,
    colour,
    dice,
    displaced,
    noise,
    outlined,
    painted,
    pencilled,
    photographed,
    shaded,
    smooth_field,
)

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Pair:
    """Two pictures, the matrix from newer to older pixels, and what was edited."""

    kind: str
    name: str
    older: Picture
    newer: Picture
    truth: np.ndarray | None
    across: bool = False
    edits: tuple[tuple[Box, str], ...] = ()
    drift: Picture | None = field(default=None, repr=False)


def shot(  # noqa: PLR0913 a shot is all of these
    rng: np.random.Generator,
    picture: Picture,
    matrix: np.ndarray,
    size: tuple[int, int],
    *,
    light: float = 0.0,
    grain: float = 1.5,
    quality: int = 90,
    blur: float = 0.5,
) -> Picture:
    """Put a picture under the glass or before the lens: warp, light, noise, JPEG."""
    border = (int(rng.integers(90, 200)),) * 3
    out = cv2.warpPerspective(
        picture, matrix, size, flags=cv2.INTER_CUBIC, borderValue=border
    ).astype(np.float32)
    if light:
        w, h = size
        x, y = np.meshgrid(np.linspace(-1, 1, w), np.linspace(-1, 1, h))
        a = rng.uniform(0, 6.3)
        fall = light * (np.cos(a) * x + np.sin(a) * y) - 0.5 * light * (x**2 + y**2)
        tint = 1 + light * rng.normal(0, 0.3, 3)
        out = out * (1 + fall[..., None]) * tint
    out = cv2.GaussianBlur(out, (0, 0), blur) if blur else out
    out += rng.normal(0, grain, out.shape)
    flat = np.clip(out, 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(
        ".jpg", flat[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality]
    )
    return np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])


def scan_matrix(rng: np.random.Generator, turn: float = 1.5) -> np.ndarray:
    """Give older -> newer for a scan: a little turned, scaled and slid."""
    w, h = SIZE
    a, s = np.radians(rng.uniform(-turn, turn)), rng.uniform(0.9, 1.08)
    to_middle = np.array([[1, 0, -w / 2], [0, 1, -h / 2], [0, 0, 1]])
    turned = np.array(
        [
            [s * np.cos(a), -s * np.sin(a), w * s / 2 + rng.uniform(-25, 25)],
            [s * np.sin(a), s * np.cos(a), h * s / 2 + rng.uniform(-15, 15)],
            [0, 0, 1],
        ]
    )
    return turned @ to_middle


def phone_matrix(rng: np.random.Generator) -> tuple[np.ndarray, tuple[int, int]]:
    """Give older -> newer for a photo by hand, with table round the art."""
    w, h = SIZE
    size = (2000, 1300) if rng.random() < 0.7 else (1500, 2000)
    scale = 0.86 * min(size[0] / w, size[1] / h)
    middle = np.array(size) / 2
    corner = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2 * scale
    a = np.radians(rng.uniform(-6, 6))
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    to = corner @ turn.T + middle + rng.normal(0, 0.025 * w * scale, (4, 2))
    at = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
    return cv2.getPerspectiveTransform(at, to.astype(np.float32)), size


def _recoloured(rng: np.random.Generator, picture: Picture, where: Picture) -> Picture:
    """Shift a colour until the place is 3 dE00 off on the mean, in any direction."""
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB).astype(np.float32)
    step = rng.normal(size=3)
    step /= np.linalg.norm(step)
    first = srgb_to_lab(picture[where])
    out = picture
    for amount in np.arange(2.0, 20.0, 0.5):
        moved = np.clip(lab + step * amount * [2.55, 1, 1], 0, 255).astype(np.uint8)
        out = cv2.cvtColor(moved, cv2.COLOR_LAB2RGB)
        if delta_e_2000(first, srgb_to_lab(out[where])).mean() >= 3:
            break
    return out


def edited(rng: np.random.Generator, picture: Picture, how: str) -> tuple[Picture, Box]:
    """Change one place: recolour, paint over, add or move; give the box in fractions."""
    w, h = SIZE
    r = float(rng.uniform(35, 110))
    x, y = rng.uniform(1.6 * r, w - 1.6 * r), rng.uniform(1.6 * r, h - 1.6 * r)
    mask = np.zeros((h, w), np.float32)
    cv2.fillPoly(mask, [blob(rng, x, y, r)], 1.0, lineType=cv2.LINE_AA)
    soft = cv2.GaussianBlur(mask, (0, 0), 1.5)[..., None]
    base = picture.astype(np.float32)
    wash = np.array(colour(rng)) * (1 + 0.05 * noise(rng, SIZE, 20)[..., None])
    other = wash
    if how == "faint":
        other = _recoloured(rng, picture, mask > 0.5)
    elif how == "moved":
        other = np.roll(base, (int(0.7 * r), int(1.3 * r)), axis=(0, 1))
        if np.abs(other - base)[mask > 0.5].mean() < 25:  # nothing there to move
            other = wash
    out = base * (1 - soft) + other * soft
    ys, xs = np.nonzero(mask > 0.5)
    box = (xs.min() / w, ys.min() / h, np.ptp(xs) / w, np.ptp(ys) / h)
    return np.clip(out, 0, 255).astype(np.uint8), box


def _straight(rng: np.random.Generator, picture: Picture) -> Picture:
    return shot(rng, picture, np.eye(3), SIZE, grain=1.0, quality=93, blur=0)


def rescan(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    m = scan_matrix(rng)
    newer = shot(rng, art, m, (2100, 1080), light=0.02)
    return Pair("rescan", "", _straight(rng, art), newer, np.linalg.inv(m))


def phone(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    m, size = phone_matrix(rng)
    newer = shot(rng, art, m, size, light=0.2, grain=3, quality=82, blur=0.9)
    return Pair("phone", "", _straight(rng, art), newer, np.linalg.inv(m))


def edit(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    after, edits = art, []
    for how in rng.choice(["over", "moved", "faint", "over"], int(rng.integers(1, 4))):
        after, box = edited(rng, after, str(how))
        edits.append((box, str(how)))
    if rng.random() < 0.5:
        m, size = scan_matrix(rng), (2100, 1080)
        newer = shot(rng, after, m, size, light=0.02)
    else:
        m, size = phone_matrix(rng)
        newer = shot(rng, after, m, size, light=0.12, grain=2.5, quality=85, blur=0.8)
    return Pair(
        "edit", "", _straight(rng, art), newer, np.linalg.inv(m), edits=tuple(edits)
    )


def turned(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    w, h = SIZE
    quarter = int(rng.integers(1, 4))
    spin = {
        1: [[0, -1, h - 1], [1, 0, 0]],
        2: [[-1, 0, w - 1], [0, -1, h - 1]],
        3: [[0, 1, 0], [-1, 0, w - 1]],
    }[quarter]
    m = np.array([*spin, [0, 0, 1]], float) @ scan_matrix(rng)
    size = (1080, 2100) if quarter % 2 else (2100, 1080)
    newer = shot(rng, art, m, size, light=0.03)
    return Pair("turned", "", _straight(rng, art), newer, np.linalg.inv(m))


def detail(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    w, h = SIZE
    part = rng.uniform(0.35, 0.6)
    x, y = rng.uniform(0, w * (1 - part)), rng.uniform(0, h * (1 - part))
    zoom = 1800 / (w * part)
    slide = np.array([[zoom, 0, -x * zoom], [0, zoom, -y * zoom], [0, 0, 1]])
    a = np.radians(rng.uniform(-3, 3))
    m = (
        np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
        @ slide
    )
    newer = shot(rng, art, m, (1800, int(h * part * zoom)), light=0.04)
    return Pair("detail", "", _straight(rng, art), newer, np.linalg.inv(m))


def cockled(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    drift = smooth_field(rng, rng.uniform(0.8, 1.8), 350)
    m = scan_matrix(rng)
    newer = shot(rng, displaced(art, drift), m, (2100, 1080), light=0.06)
    return Pair(
        "cockled", "", _straight(rng, art), newer, np.linalg.inv(m), drift=drift
    )


def across(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    drawn = pencilled(rng, art, wobble=0.8)
    m = scan_matrix(rng)
    newer = shot(rng, art, m, (2100, 1080), light=0.03)
    return Pair(
        "across", "", _straight(rng, drawn), newer, np.linalg.inv(m), across=True
    )


def across_hard(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    drawn = pencilled(rng, art, wobble=2.0, lost=0.4)
    for how in ("over", "moved", "over"):
        art, _ = edited(rng, art, how)
    m, size = phone_matrix(rng)
    newer = shot(rng, art, m, size, light=0.12, grain=2.5, quality=85, blur=0.8)
    return Pair(
        "across hard", "", _straight(rng, drawn), newer, np.linalg.inv(m), across=True
    )


def _painted_over(rng: np.random.Generator, art: Picture, drawn: Picture) -> Pair:
    """The wash of a drawing, by phone half of the time."""
    if rng.random() < 0.5:
        m, size = scan_matrix(rng), (2100, 1080)
    else:
        m, size = phone_matrix(rng)
    newer = shot(rng, art, m, size, light=0.1, grain=2, quality=86, blur=0.7)
    older = _straight(rng, drawn)
    return Pair("across", "", older, newer, np.linalg.inv(m), across=True)


def across_shaded(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    return _painted_over(rng, art, shaded(rng, art, wobble=1.0))


def across_outlined(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    return _painted_over(rng, art, outlined(rng, art, wobble=1.0))


def unrelated(rng: np.random.Generator) -> Pair:
    one, two = artwork(rng), painted(rng, texture=float(rng.integers(2)))
    across_ = bool(rng.integers(2))
    older = pencilled(rng, one) if across_ else one
    newer = shot(rng, two, scan_matrix(rng), (2100, 1080), light=0.03)
    return Pair("unrelated", "", _straight(rng, older), newer, None, across=across_)


def shared_clipping(rng: np.random.Generator) -> Pair:
    one, two, source = artwork(rng), painted(rng), photographed(rng)
    part = source[200:560, 300:860]
    for art in (one, two):
        y, x = int(rng.integers(0, 600)), int(rng.integers(0, 1400))
        art[y : y + 360, x : x + 560] = part
        cv2.rectangle(art, (25, 25), (1975, 975), (20, 20, 20), 2)
    newer = shot(rng, two, scan_matrix(rng), (2100, 1080), light=0.03)
    return Pair("shared clipping", "", _straight(rng, one), newer, None)


def mirrored(rng: np.random.Generator) -> Pair:
    art = artwork(rng)
    newer = shot(rng, art[:, ::-1], scan_matrix(rng), (2100, 1080), light=0.03)
    return Pair("mirrored", "", _straight(rng, art), newer, None)


KINDS: dict[str, Callable[[np.random.Generator], Pair]] = {
    f.__name__: f
    for f in (
        rescan,
        phone,
        edit,
        turned,
        detail,
        cockled,
        across,
        across_hard,
        unrelated,
        shared_clipping,
        mirrored,
        across_shaded,
        across_outlined,
    )
}


def make(kind: str, seed: int) -> Pair:
    """Make the pair of that kind and seed, always the same one."""
    number = list(KINDS).index(kind)
    pair = KINDS[kind](dice(seed, number))
    return Pair(
        pair.kind,
        f"{kind}-{seed}",
        pair.older,
        pair.newer,
        pair.truth,
        pair.across,
        pair.edits,
        pair.drift,
    )


def furthest_off(pair: Pair, matrix: np.ndarray) -> float:
    """Give the largest error over a 5 x 5 grid of the newer, share of the diagonal."""
    assert pair.truth is not None
    w, h = SIZE
    there = np.linalg.inv(pair.truth)
    high, wide = pair.newer.shape[:2]
    x, y = np.meshgrid(np.linspace(0, w - 1, 5), np.linspace(0, h - 1, 5))
    at = cv2.perspectiveTransform(
        np.column_stack([x.ravel(), y.ravel()])[None].astype(np.float64), there
    )[0]
    if pair.kind == "detail":
        x, y = np.meshgrid(np.linspace(0, wide - 1, 5), np.linspace(0, high - 1, 5))
        at = np.column_stack([x.ravel(), y.ravel()])
    good = cv2.perspectiveTransform(at[None], pair.truth)[0]
    mine = cv2.perspectiveTransform(at[None], matrix)[0]
    return float(np.hypot(*(good - mine).T).max() / np.hypot(w, h))
