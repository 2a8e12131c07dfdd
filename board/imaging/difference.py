"""How far apart two colours look: CIEDE2000, pixel by pixel."""

from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import SizesDiffer
from board.imaging.colour import CHUNK, Doubles, Floats, in_parts

OPPOSED: Final = 0.01
_HUE_TERMS: Final = ((1, -30), (2, 0), (3, 6), (4, -63))
_25_TO_7: Final = np.float32(25.0**7)


def delta_e_2000(lab1: Floats, lab2: Floats) -> Floats:
    """Measure how far apart colours look, pixel by pixel.

    No hue angle is taken: the mean hue is the bisector of two unit vectors and its
    multiples follow from the double-angle rules, all in float32. Only the few pixels
    whose hues are opposed, where the formula jumps, are done again in float64.

    Parameters
    ----------
    lab1, lab2 : float arrays of one shape (..., 3), CIELAB

    Returns
    -------
    float32 array of shape (...), dE00 with kL = kC = kH = 1, zero and up.

    Raises
    ------
    SizesDiffer

    References
    ----------
    ISO/CIE 11664-6:2022; Sharma, Wu, Dalal, Color Research and Application 30(1),
    2005, for the hue of opposed colours.
    """
    if lab1.shape != lab2.shape:
        raise SizesDiffer
    one = lab1.reshape(-1, 3)
    two = lab2.reshape(-1, 3)
    out = np.empty(len(one), np.float32)
    jumps: list[npt.NDArray[np.intp]] = []

    def part(start: int) -> None:
        stop = start + CHUNK
        first = np.ascontiguousarray(one[start:stop].T, dtype=np.float32)
        second = np.ascontiguousarray(two[start:stop].T, dtype=np.float32)
        out[start:stop], opposed = _delta_e_rows(first, second)
        jumps.append(start + opposed)

    in_parts(part, len(one))
    at = np.concatenate([*jumps, np.empty(0, np.intp)])
    if at.size:
        out[at] = _delta_e_opposed(*_as_written(one[at], two[at]))
    return out.reshape(lab1.shape[:-1])


def _chroma_weight(c: Floats) -> Floats:
    """Give sqrt(c^7 / (c^7 + 25^7))."""
    seventh = cv2.pow(c, 7)
    return np.asarray(cv2.sqrt(seventh / (seventh + _25_TO_7)), np.float32)


def _delta_e_rows(first: Floats, second: Floats) -> tuple[Floats, npt.NDArray[np.intp]]:
    """CIEDE2000 of two (3, n) float32 arrays, and where hues are opposed."""
    l1, a1, b1 = first
    l2, a2, b2 = second
    f = np.float32
    mean_c = _sum(_length(a1, b1), 0.5, _length(a2, b2), 0.5)
    stretch = f(1.5) - f(0.5) * _chroma_weight(mean_c)
    a1 = a1 * stretch
    a2 = a2 * stretch
    c1, c2 = _length(a1, b1), _length(a2, b2)
    mean_c = _sum(c1, 0.5, c2, 0.5)
    delta_h, x, y, opposed = _hue((a1, b1, c1), (a2, b2, c2))
    delta_c = c2 - c1
    tone, turn = _hue_weights(x, y)
    turn *= _chroma_weight(mean_c)
    off = _sum(l1, 0.5, l2, 0.5, -50)
    off *= off
    term_l = (l2 - l1) / (f(1) + f(0.015) * off / cv2.sqrt(off + f(20)))
    term_c = delta_c / (f(1) + f(0.045) * mean_c)
    term_h = delta_h / (f(1) + f(0.015) * mean_c * tone)
    turn *= term_c
    term_l *= term_l
    term_c *= term_c
    term_l += term_c
    term_l += term_h * (term_h - turn)
    np.maximum(term_l, 0, out=term_l)
    return np.asarray(cv2.sqrt(term_l), np.float32), opposed


def _length(x: Floats, y: Floats) -> Floats:
    # cv2.magnitude may differ by a last bit between two arrays of the same numbers.
    squared = x * x
    squared += y * y
    return np.asarray(cv2.sqrt(squared, squared), np.float32)


def _sum(x: Floats, of_x: float, y: Floats, of_y: float, more: float = 0) -> Floats:
    """Give x times one factor and y times another, and some more, in one go."""
    return np.asarray(cv2.addWeighted(x, of_x, y, of_y, more), np.float32)


def _hue(
    first: tuple[Floats, Floats, Floats], second: tuple[Floats, Floats, Floats]
) -> tuple[Floats, Floats, Floats, npt.NDArray[np.intp]]:
    """Give 2 sqrt(c1 c2) sin(dh/2), the mean hue as a unit vector, and where not to.

    With s the sum of the two unit vectors of hue, |s| = 2 cos(dh/2), so 2 sin(dh/2) is
    2 sin(dh) / |s|; all is reckoned times c1 c2. Where |s| is next to nothing the hues
    are opposed.
    """
    (a1, b1, c1), (a2, b2, c2) = first, second
    f = np.float32
    x, y = a1 * c2, b1 * c2
    x += a2 * c1
    y += b2 * c1
    both = c1 * c2
    length = _length(x, y)
    opposed = np.flatnonzero(length < f(OPPOSED) * both)
    opposed = opposed[np.minimum(c1[opposed], c2[opposed]) > f(1e-5)]
    scale = f(1) / np.maximum(length, f(1e-12))
    x *= scale
    y *= scale
    turn = a1 * b2
    turn -= b1 * a2
    turn *= scale
    turn *= cv2.sqrt(both)
    turn *= f(2)
    return turn, x, y, opposed


def _as_written(one: Floats, two: Floats) -> tuple[Doubles, Doubles]:
    """Give both as (3, n) float64; float32 pairs of four decimals as those decimals.

    float32 cannot hold 2.49: its rounding must not decide on which side of 180 degrees
    a greyish colour of a printed table lies.
    """
    pair = np.hstack([one, two]).astype(np.float64)
    if one.dtype == two.dtype == np.float32:
        short = np.round(pair, 4)
        whole = (short.astype(np.float32) == pair).all(axis=1, keepdims=True)
        whole &= (np.abs(pair[:, [1, 2, 4, 5]]) < 16).all(axis=1, keepdims=True)
        pair = np.where(whole, short, pair)
    return pair[:, :3].T, pair[:, 3:].T


def _delta_e_opposed(first: Doubles, second: Doubles) -> Doubles:
    """CIEDE2000 of two (3, n) float64 arrays by hue angles, for opposed hues.

    At exactly 180 degrees the rounding of the angles decides on which side the mean
    hue lies, so they are taken step by step as everybody takes them.
    """
    l1, a1, b1 = first
    l2, a2, b2 = second
    mean_c = 0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))
    stretch = 1 + 0.5 * (1 - np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)))
    c1, c2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    h1 = np.arctan2(b1, a1 * stretch)
    h2 = np.arctan2(b2, a2 * stretch)
    h1 += np.where(h1 < 0, 2 * np.pi, 0)
    h2 += np.where(h2 < 0, 2 * np.pi, 0)
    far = np.abs(h2 - h1) > np.pi
    mean_h = np.degrees((h1 + h2) / 2 + np.where(far, np.pi, 0))
    turn = h2 - h1 - np.where(far, np.copysign(2 * np.pi, h2 - h1), 0)
    mean_c = (c1 + c2) / 2
    cos = [np.cos(np.radians(k * mean_h + d)) for k, d in _HUE_TERMS]
    tone = 1 - 0.17 * cos[0] + 0.24 * cos[1] + 0.32 * cos[2] - 0.20 * cos[3]
    blue = 60 * np.exp(-((((mean_h - 275 + 180) % 360 - 180) / 25) ** 2))
    off = ((l1 + l2) / 2 - 50) ** 2
    term_l = (l2 - l1) / (1 + 0.015 * off / np.sqrt(20 + off))
    term_c = (c2 - c1) / (1 + 0.045 * mean_c)
    term_h = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2)
    term_h /= 1 + 0.015 * mean_c * tone
    weight = 2 * np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7))
    rotate = -np.sin(np.radians(blue)) * weight
    total = term_l**2 + term_c**2 + term_h**2 + rotate * term_c * term_h
    return np.asarray(np.sqrt(np.maximum(total, 0)))


def _hue_weights(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Give T and sin(2 dtheta) * 2 of the mean hue whose cosine is x and sine is y."""
    f = np.float32
    x2: Floats = x * x - y * y
    y2: Floats = x * y * f(2)
    x3, y3 = x2 * x - y2 * y, y2 * x + x2 * y
    x4: Floats = x2 * x2 - y2 * y2
    y4: Floats = x2 * y2 * f(2)
    tone = _sum(x, -0.17 * _COS[30], y, -0.17 * _SIN[30], 1)
    tone += _sum(x3, 0.32 * _COS[6], y3, -0.32 * _SIN[6])
    tone -= _sum(x4, 0.20 * _COS[63], y4, 0.20 * _SIN[63])
    tone += f(0.24) * x2
    along = _sum(x, _COS[275], y, _SIN[275])
    half = (f(1) - along) / np.maximum(f(1) + along, f(1e-6))  # tan^2(dtheta / 2)
    far = _arctan_squared(np.minimum(half, f(1), out=half))
    far *= f(-((2 * 180 / np.pi / 25) ** 2))
    turn = cv2.exp(far)
    turn *= f(np.pi / 3)
    np.sin(turn, out=turn)
    turn *= f(2)
    return tone, turn


def _arctan_squared(s: Floats) -> Floats:
    """Square of the arc tangent of sqrt(s), s 0..1.

    Abramowitz and Stegun 4.4.49 in Horner's form: the arc tangent to 2e-8.
    """
    f = np.float32
    out = f(0.0028662257) * s + f(-0.0161657367)
    for c in (
        0.0429096138,
        -0.0752896400,
        0.1065626393,
        -0.1420889944,
        0.1999355085,
        -0.3333314528,
        1.0,
    ):
        out *= s
        out += f(c)
    out *= out
    out *= s
    return out


_COS: Final = {d: float(np.cos(np.radians(d))) for d in (6, 30, 63, 275)}
_SIN: Final = {d: float(np.sin(np.radians(d))) for d in (6, 30, 63, 275)}
