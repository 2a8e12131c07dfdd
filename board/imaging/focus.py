"""Make two pictures equally soft, so that a blurred photo is no change."""

import cv2
import numpy as np

from board.imaging.colour import Bytes, Floats
from board.imaging.working import Mask, at_once, grey

FINE, COARSE = 0.6, 2.4
BLURS = (0.0, 0.6, 1.0, 1.6, 2.5)
LEAST = 0.4
EDGES = 0.97


def equally_soft(one: Bytes, two: Bytes, known: Mask) -> tuple[Bytes, Bytes]:
    """Blur the sharper of two laid pictures until its edges are as soft as the other's.

    How much of an edge's slope survives a wider blur tells how soft it was, whatever
    the light: the ratio of slopes at two blurs is compared.

    Parameters
    ----------
    one, two : uint8 RGB arrays of one shape, finely aligned
    known : uint8 array (rows, columns), 255 where both are known
    """
    light1, light2 = grey(one), grey(two)
    edges = np.logical_and(*at_once(lambda light: _edges(light, known), light1, light2))
    if edges.sum() < 300:
        return one, two
    soft1, soft2 = at_once(lambda light: _crispness(light, edges), light1, light2)
    if soft1 > soft2:
        return _softened(one, light1, edges, soft2), two
    return one, _softened(two, light2, edges, soft1)


def _softened(picture: Bytes, light: Floats, edges: Mask, aim: float) -> Bytes:
    crisp: list[float] = []
    for sigma in BLURS:
        soft = cv2.GaussianBlur(light, (0, 0), sigma) if sigma else light
        crisp.append(_crispness(soft, edges))
        if crisp[-1] <= aim:
            break
    sigma = float(np.interp(-aim, -np.array(crisp), BLURS[: len(crisp)]))
    if sigma < LEAST:
        return picture
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), np.uint8)


def _edges(light: Floats, known: Mask) -> Mask:
    slope = _slope(cv2.GaussianBlur(light, (0, 0), 1.5))
    inside = known > 0
    if not inside.any():
        return np.zeros(light.shape, bool)
    least = max(float(np.quantile(slope[inside][::7], EDGES)), 1.5)
    return np.asarray(inside & (slope > least))


def _crispness(light: Floats, edges: Mask) -> float:
    """Give the mean slope at a fine blur over that at a coarse one, robustly."""
    fine = _slope(cv2.GaussianBlur(light, (0, 0), FINE))[edges]
    coarse = _slope(cv2.GaussianBlur(light, (0, 0), COARSE))[edges]
    return float((fine**2).mean() / max(float((coarse**2).mean()), 1e-6))


def _slope(light: Floats) -> Floats:
    gx, gy = (cv2.Sobel(light, -1, *way, scale=1 / 8) for way in ((1, 0), (0, 1)))
    return np.asarray(cv2.magnitude(gx, gy), dtype=np.float32)
