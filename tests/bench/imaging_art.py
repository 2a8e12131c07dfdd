"""Artwork by chance: painted, photographed, pencilled; everything from a seed."""

import cv2
import numpy as np
from skimage import data

SIZE = (2000, 1000)
PHOTOS = ("coins", "chelsea", "coffee", "rocket", "retina", "immunohistochemistry")
Picture = np.ndarray


def dice(*seeds: int) -> np.random.Generator:
    return np.random.default_rng(seeds)


def noise(rng: np.random.Generator, size: tuple[int, int], grain: float) -> Picture:
    """Give smooth noise of unit spread, lumps of about `grain` pixels."""
    w, h = size
    small = rng.normal(size=(max(2, int(h / grain)) + 2, max(2, int(w / grain)) + 2))
    out = cv2.resize(small.astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
    return (out - out.mean()) / max(float(out.std()), 1e-6)


def blob(rng: np.random.Generator, x: float, y: float, r: float) -> Picture:
    """Give the outline of one lumpy shape as whole points."""
    turns = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = np.full(60, r)
    for k in range(2, 6):
        radius += r * rng.normal() * 0.3 / k * np.cos(k * turns + rng.uniform(0, 6.3))
    flat = rng.uniform(0.5, 1)
    tilt = rng.uniform(0, np.pi)
    px, py = radius * np.cos(turns), radius * np.sin(turns) * flat
    out = np.column_stack(
        [
            x + px * np.cos(tilt) - py * np.sin(tilt),
            y + px * np.sin(tilt) + py * np.cos(tilt),
        ]
    )
    return out.astype(np.int32)


def colour(rng: np.random.Generator) -> tuple[float, ...]:
    hue, sat, light = rng.uniform(0, 180), rng.uniform(20, 200), rng.uniform(50, 245)
    hsv = np.array([[[hue, sat, light]]], np.uint8)
    return tuple(float(v) for v in cv2.cvtColor(hsv, cv2.COLOR_HSV2RGB)[0, 0])


def painted(rng: np.random.Generator, *, texture: float = 1.0) -> Picture:
    """Paint a spread of shapes, strokes and marks; texture 0 leaves it flat."""
    w, h = SIZE
    top, low = np.array(colour(rng)), np.array(colour(rng))
    slope = np.linspace(0, 1, h)[:, None, None]
    out = (top * (1 - slope) + low * slope) * np.ones((1, w, 1))
    out = np.ascontiguousarray(out * 0.5 + 110, dtype=np.float32)
    for _ in range(int(rng.integers(18, 45))):
        r = float(np.exp(rng.uniform(np.log(25), np.log(260))))
        shape = blob(rng, rng.uniform(0, w), rng.uniform(0, h), r)
        mask = np.zeros((h, w), np.float32)
        cv2.fillPoly(mask, [shape], 1.0, lineType=cv2.LINE_AA)
        wash = np.array(colour(rng), np.float32)
        shade = noise(rng, SIZE, r) if texture else np.zeros((h, w), np.float32)
        layer = wash[None, None] * (1 + 0.08 * texture * shade[..., None])
        cover = mask[..., None] * rng.uniform(0.7, 1)
        out = out * (1 - cover) + layer * cover
    for _ in range(int(rng.integers(20, 60))):
        start = rng.uniform([0, 0], [w, h])
        steps = np.cumsum(rng.normal(0, rng.uniform(5, 30), (12, 2)), axis=0)
        line = (start + steps).astype(np.int32)
        ink = tuple(0.6 * v for v in colour(rng))
        pen = int(rng.integers(1, 7))
        cv2.polylines(
            out, [line], isClosed=False, color=ink, thickness=pen, lineType=cv2.LINE_AA
        )
    if texture:
        out *= (
            1
            + 0.035 * texture * (noise(rng, SIZE, 2.5) + noise(rng, SIZE, 9))[..., None]
        )
    return np.clip(out, 0, 255).astype(np.uint8)


def photographed(rng: np.random.Generator) -> Picture:
    """Turn one of scikit-image's samples into something brushed, 2:1."""
    picture = np.atleast_3d(getattr(data, PHOTOS[int(rng.integers(len(PHOTOS)))])())
    picture = np.repeat(picture, 3, axis=2) if picture.shape[2] == 1 else picture
    rows, columns = picture.shape[:2]
    tall = min(rows, columns // 2)
    y = int(rng.integers(0, rows - tall + 1))
    x = int(rng.integers(0, columns - 2 * tall + 1))
    out = cv2.resize(
        picture[y : y + tall, x : x + 2 * tall], SIZE, interpolation=cv2.INTER_CUBIC
    )
    out = cv2.bilateralFilter(out, 9, 40, 9).astype(np.float32)
    out *= 1 + 0.03 * (noise(rng, SIZE, 2.5) + noise(rng, SIZE, 8))[..., None]
    return np.clip(out, 0, 255).astype(np.uint8)


def artwork(rng: np.random.Generator) -> Picture:
    """Give one picture of any manner."""
    pick = int(rng.integers(4))
    if pick == 0:
        return photographed(rng)
    return painted(rng, texture=(1.0, 0.6, 0.0)[pick - 1])


def pencilled(
    rng: np.random.Generator,
    picture: Picture,
    *,
    wobble: float = 1.0,
    lost: float = 0.15,
) -> Picture:
    """Draw the picture's edges in pencil on paper, a little off and not all of them."""
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB).astype(np.float32)
    edge = np.zeros(picture.shape[:2], np.float32)
    for channel in cv2.split(lab):
        smooth = cv2.GaussianBlur(channel, (0, 0), 4)
        grad = np.hypot(cv2.Sobel(smooth, -1, 1, 0), cv2.Sobel(smooth, -1, 0, 1))
        edge = np.maximum(edge, grad)
    edge /= np.percentile(edge, 97)
    thin = edge - cv2.GaussianBlur(edge, (0, 0), 6)
    line = np.clip(thin * 2.5, 0, 1)
    line = cv2.GaussianBlur(np.clip(line * 1.6 - 0.3, 0, 1), (0, 0), 0.9)
    line *= noise(rng, SIZE, 150) > np.percentile(noise(rng, SIZE, 150), 100 * lost)
    line *= 0.75 + 0.2 * noise(rng, SIZE, 3)
    line = displaced(line, smooth_field(rng, wobble, 160))
    grey = 238 - 150 * np.clip(line, 0, 1) + 2.5 * noise(rng, SIZE, 2)
    paper = np.array([1.0, 0.99, 0.955])
    return np.clip(grey[..., None] * paper, 0, 255).astype(np.uint8)


def shaded(rng: np.random.Generator, picture: Picture, *, wobble: float) -> Picture:
    """Draw the picture in soft pencil: grey against its own blur, light tones lost."""
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32)
    grey = cv2.GaussianBlur(grey, (0, 0), 2.5)
    soft = cv2.GaussianBlur(grey, (0, 0), float(rng.uniform(9, 16)))
    drawn = np.clip(grey / np.maximum(soft, 20), 0, 1.02) ** 5
    tone = np.clip(grey / 180, 0.55, 1) ** 0.5
    drawn = displaced(drawn * tone, smooth_field(rng, wobble, 200))
    drawn = drawn * 225 + 12 + 4 * noise(rng, SIZE, 1.6) * (1.1 - drawn)
    paper = np.array([1.0, 0.985, 0.95])
    return np.clip(drawn[..., None] * paper, 0, 255).astype(np.uint8)


def _reach(lines: list[Picture]) -> float:
    """Give the share of a 6 x 3 grid's cells that hold some line."""
    held = np.zeros((3, 6), bool)
    for line in lines:
        x, y = (line.reshape(-1, 2) / SIZE * [6, 3]).astype(int).T
        held[y, x] = True
    return float(held.mean())


def outlined(rng: np.random.Generator, picture: Picture, *, wobble: float) -> Picture:
    """Draw the picture's outlines stroke by stroke, each a little beside its edge.

    Who draws a pale picture looks closer: weaker edges are followed until two thirds of
    the sheet hold a line. A single arc would not say where the rest lies.
    """
    smooth = cv2.bilateralFilter(picture, 9, 50, 9)
    smooth = cv2.GaussianBlur(smooth, (0, 0), 3)
    channels = cv2.split(cv2.cvtColor(smooth, cv2.COLOR_RGB2LAB))
    for strong in (45, 30, 20, 14, 10):
        edge = np.zeros(picture.shape[:2], np.uint8)
        for channel in channels:
            edge |= cv2.Canny(channel, 0.4 * strong, strong)
        found, _ = cv2.findContours(edge, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        lines = [line for line in found if len(line) >= 60]
        if _reach(lines) >= 0.66:
            break
    ink = np.zeros(picture.shape[:2], np.float32)
    for line in lines:
        if rng.random() < 0.2:
            continue
        beside = line.astype(np.float32) + rng.normal(0, wobble, 2).astype(np.float32)
        for start in range(0, len(line) - 20, 70):
            part = beside[start : start + 70 + int(rng.integers(0, 15)) : 6]
            part = np.round(part * 16).astype(np.int32)
            pen = int(rng.integers(1, 4))
            cv2.polylines(
                ink, [part], isClosed=False, color=1.0, thickness=pen,
                lineType=cv2.LINE_AA, shift=4,
            )  # fmt: skip
    ink = displaced(ink, smooth_field(rng, wobble, 240))
    ink *= 0.7 + 0.2 * noise(rng, SIZE, 3)
    ink = cv2.GaussianBlur(np.clip(ink, 0, 1), (0, 0), 0.7)
    drawn = 240 - 170 * ink + 2.5 * noise(rng, SIZE, 2)
    return np.clip(drawn[..., None] * [1.0, 0.99, 0.96], 0, 255).astype(np.uint8)


def smooth_field(rng: np.random.Generator, amount: float, grain: float) -> Picture:
    """Give a smooth displacement of `amount` pixels spread, (rows, columns, 2)."""
    return np.dstack([noise(rng, SIZE, grain), noise(rng, SIZE, grain)]) * amount


def displaced(picture: Picture, field_: Picture) -> Picture:
    h, w = picture.shape[:2]
    x, y = np.meshgrid(np.arange(w, dtype=np.float32), np.arange(h, dtype=np.float32))
    return cv2.remap(
        picture,
        x + field_[..., 0].astype(np.float32),
        y + field_[..., 1].astype(np.float32),
        cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    )
