"""Pictures that scikit-image ships, and known ways of laying them wrong."""

from typing import Any

import cv2
import numpy as np
from skimage import data

from board.imaging.colour import Bytes
from board.imaging.sheet import Matrix, apply

SIZE = (1000, 500)


def spread(name: str) -> Bytes:
    """Give one of the samples as a spread of 1000 x 500."""
    picture = np.asarray(getattr(data, name)())
    if picture.ndim == 2:
        picture = np.repeat(picture[..., None], 3, axis=2)
    rows, columns = picture.shape[:2]
    tall = min(rows, columns // 2)
    top = (rows - tall) // 2
    cut = picture[top : top + tall, : 2 * tall, :3]
    return np.asarray(cv2.resize(cut, SIZE, interpolation=cv2.INTER_CUBIC))


def turned(
    degrees: float, scale: float = 1.0, slide: tuple[float, float] = (0, 0)
) -> "np.ndarray[Any, np.dtype[np.float64]]":
    """Give the matrix that turns round the middle, scales and slides."""
    half = cv2.getRotationMatrix2D((500, 250), degrees, scale)
    half[:, 2] += slide
    return np.vstack([half, [0, 0, 1]])


def leaning(by: float = 0.04) -> Matrix:
    """Give the matrix of a photo taken at a slant."""
    at = np.array([[0, 0], [1000, 0], [1000, 500], [0, 500]], np.float32)
    to = at * 0.9 + 50
    to[1] += [-1000 * by, 500 * by]
    to[3] += [600 * by, 0]
    return np.asarray(cv2.getPerspectiveTransform(at, to), np.float64)


def shot(
    picture: Bytes,
    matrix: Matrix,
    size: tuple[int, int] = (1000, 500),
    *,
    quality: int = 88,
    light: float = 0.0,
) -> Bytes:
    """Warp, light, blur a little, make noisy and compress."""
    out = cv2.warpPerspective(
        picture, matrix, size, flags=cv2.INTER_CUBIC, borderValue=(140, 138, 134)
    ).astype(np.float32)
    out *= 1 + light * np.linspace(-1, 1, size[0])[None, :, None]
    out += np.random.default_rng(3).normal(0, 1.5, out.shape)
    _, packed = cv2.imencode(
        ".jpg", np.clip(out, 0, 255).astype(np.uint8)[..., ::-1], [1, quality]
    )
    return np.ascontiguousarray(cv2.imdecode(packed, 1)[..., ::-1])


def furthest_off(found: Matrix, truth: Matrix) -> float:
    """Give the largest error over a 5 x 5 grid of the older, share of its diagonal."""
    x, y = np.meshgrid(np.linspace(0, 999, 5), np.linspace(0, 499, 5))
    older = np.column_stack([x.ravel(), y.ravel()])
    off = apply(found @ truth, older) - older
    return float(np.hypot(*off.T).max() / np.hypot(*SIZE))


def pencilled(picture: Bytes) -> Bytes:
    """Draw the picture's edges as dark lines on paper."""
    smooth = cv2.GaussianBlur(picture, (0, 0), 2).astype(np.float32).mean(axis=2)
    edge = np.hypot(cv2.Sobel(smooth, -1, 1, 0), cv2.Sobel(smooth, -1, 0, 1))
    thin = edge - cv2.GaussianBlur(edge, (0, 0), 3)
    line = np.clip(thin / np.percentile(thin, 97), 0, 1)
    paper = 236 - 150 * line + np.random.default_rng(4).normal(0, 2, line.shape)
    return np.repeat(np.clip(paper, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def dashed(picture: Bytes, seed: int = 4) -> Bytes:
    """Draw short strokes along some of the picture's edges, and nothing longer."""
    dice = np.random.default_rng(seed)
    grey = cv2.GaussianBlur(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), (0, 0), 1.5)
    edge = cv2.Canny(grey, 25, 60)
    lines, _ = cv2.findContours(edge, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    paper = np.full(picture.shape, 240, np.uint8)
    for line in lines:
        for start in range(0, len(line) - 16, 40):
            if dice.random() < 0.5:
                stroke = [line[start : start + 14]]
                cv2.polylines(
                    paper,
                    stroke,
                    isClosed=False,
                    color=(70, 70, 70),
                    lineType=cv2.LINE_AA,
                )
    return paper
