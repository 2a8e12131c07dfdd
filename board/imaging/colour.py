"""Colours as CIELAB under D50."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]
Doubles = npt.NDArray[np.float64]

CHUNK: Final = 131_072
THREADS: Final = 2
LANES: Final = 64
_KAPPA: Final = np.float32(24389.0 / 27.0)
_EPSILON: Final = np.float32(216.0 / 24389.0)
_STRAIGHT: Final = np.float32(24389.0 / 27.0 / 116)
_RISE: Final = np.float32(16 / 116)
_ROOTS_TO_LAB: Final = np.array(
    [[0, 116, 0, -16], [500, -500, 0, 0], [0, 200, -200, 0]], np.float32
)

# IEC 61966-2-1 primaries to XYZ, then Bradford from D65 to the D50 of ICC.1:2022.
_SRGB_TO_XYZ_D65: Final = np.array(
    [
        [0.4123907993, 0.3575843394, 0.1804807884],
        [0.2126390059, 0.7151686788, 0.0721923154],
        [0.0193308187, 0.1191947798, 0.9505321522],
    ]
)
_BRADFORD: Final = np.array(
    [
        [0.8951, 0.2664, -0.1614],
        [-0.7502, 1.7135, 0.0367],
        [0.0389, -0.0685, 1.0296],
    ]
)
WHITE_D50: Final = np.array([0.9642, 1.0, 0.8249])


def _adapted() -> Floats:
    """Give the matrix from linear sRGB to XYZ over the D50 white, white -> 1, 1, 1."""
    white_d65 = _SRGB_TO_XYZ_D65.sum(axis=1)
    gain = (_BRADFORD @ WHITE_D50) / (_BRADFORD @ white_d65)
    adapt = np.linalg.inv(_BRADFORD) @ np.diag(gain) @ _BRADFORD
    return np.asarray((adapt @ _SRGB_TO_XYZ_D65) / WHITE_D50[:, None], dtype=np.float32)


_TO_XYZ: Final = _adapted()


def linear(rgb: Floats) -> Floats:
    """Undo the sRGB curve: display values 0..1 to light 0..1 (IEC 61966-2-1)."""
    low = rgb / np.float32(12.92)
    high = ((np.maximum(rgb, 0) + np.float32(0.055)) / np.float32(1.055)) ** np.float32(
        2.4
    )
    return np.where(rgb <= np.float32(0.04045), low, high).astype(np.float32)


LINEAR_OF_BYTE: Final = linear(np.arange(256, dtype=np.float32) / np.float32(255))


def srgb_to_lab(rgb: Bytes | Floats) -> Floats:
    """Turn sRGB into CIELAB under D50, adapted as ICC profiles do.

    Parameters
    ----------
    rgb : array of shape (..., 3), uint8 0..255 or float 0..1

    Returns
    -------
    float32 array of the same shape: L* 0..100, a*, b*.

    References
    ----------
    IEC 61966-2-1 (sRGB), ICC.1:2022 annex E (Bradford), CIE 15:2018 8.2.1 (CIELAB).
    """
    flat = rgb.reshape(-1, 3)
    out = np.empty(flat.shape, np.float32)

    def part(start: int) -> None:
        piece = flat[start : start + CHUNK]
        light = (
            LINEAR_OF_BYTE[piece]
            if piece.dtype == np.uint8
            else linear(piece.astype(np.float32, copy=False))
        )
        _lab_rows(light, out[start : start + CHUNK])

    in_parts(part, len(flat))
    return out.reshape(rgb.shape)


def light_to_lab(light: Floats) -> Floats:
    """Turn linear sRGB light 0..1, float32 (..., 3), into CIELAB under D50."""
    flat = light.reshape(-1, 3)
    out = np.empty(flat.shape, np.float32)

    def part(start: int) -> None:
        _lab_rows(flat[start : start + CHUNK], out[start : start + CHUNK])

    in_parts(part, len(flat))
    return out.reshape(light.shape)


def lab_to_srgb(lab: Floats) -> Bytes:
    """Turn CIELAB under D50, shape (..., 3), into the nearest sRGB, uint8 0..255.

    The way of `srgb_to_lab` backwards; what no screen can show is clipped.
    """
    light, a, b = np.moveaxis(np.asarray(lab, np.float64), -1, 0)
    y = (light + 16) / 116
    root = np.stack([y + a / 500, y, y - b / 200], axis=-1)
    cube, low = root**3, (116 * root - 16) / float(_KAPPA)
    xyz = np.where(cube > float(_EPSILON), cube, low)
    shine = np.clip(xyz @ np.linalg.inv(_TO_XYZ.astype(np.float64)).T, 0, 1)
    high = 1.055 * shine ** (1 / 2.4) - 0.055
    shown = np.where(shine <= 0.0031308, 12.92 * shine, high)
    return np.round(shown * 255).astype(np.uint8)


def _lab_rows(light: Floats, out: Floats) -> None:
    # OpenCV reckons its last few in another way, a last bit off: those are not ours.
    whole = np.zeros((len(light) + LANES, 3), np.float32)
    whole[: len(light)] = light
    xyz = cv2.transform(whole[None], _TO_XYZ)[0]
    root = cv2.pow(xyz, 1 / 3)
    straight = xyz * _STRAIGHT
    straight += _RISE
    np.copyto(root, straight, where=xyz <= _EPSILON)
    out[:] = cv2.transform(root[None], _ROOTS_TO_LAB)[0, : len(light)]


def in_parts(part: Callable[[int], None], length: int) -> None:
    """Do the parts that begin at 0, CHUNK and so on, on two threads."""
    starts = range(0, length, CHUNK)
    if len(starts) < 2:
        for start in starts:
            part(start)
        return
    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(part, starts))
