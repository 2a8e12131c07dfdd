"""Working copies: smaller, grey, and with their local contrast evened out."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Matrix

Mask = npt.NDArray[np.uint8]
Given = TypeVar("Given")
Made = TypeVar("Made")


def at_once(work: Callable[[Given], Made], *given: Given) -> list[Made]:
    """Do the same to each, on two threads: OpenCV and numpy let one another run."""
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(work, given))


def enlarging(x: float, y: float) -> Matrix:
    """Give the matrix that scales a picture by x and y, first pixel centre at (0, 0).

    Resizing keeps the picture's edges, not its first pixel centre, in place: a plain
    scale would be off by half a pixel.
    """
    return np.array([[x, 0, (x - 1) / 2], [0, y, (y - 1) / 2], [0, 0, 1]], np.float64)


def shrunk(picture: Bytes, longest: int) -> tuple[Bytes, Matrix]:
    """Give the picture at most `longest` pixels long, and the matrix back to it.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3)

    Returns
    -------
    uint8 array, and the 3 x 3 matrix from its pixels to those of `picture`.
    """
    high, wide = picture.shape[:2]
    if max(high, wide) <= longest:
        return picture, np.eye(3)
    k = longest / max(high, wide)
    size = (max(1, round(wide * k)), max(1, round(high * k)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    return small, enlarging(wide / size[0], high / size[1])


def grey(picture: Bytes) -> Floats:
    """Give the lightness-like grey of an RGB picture, float32 0..255."""
    return np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), dtype=np.float32)


def evened(light: Floats, sigma: float, floor: float = 6.0) -> Floats:
    """Even out local contrast: about zero mean, about unit spread everywhere.

    Parameters
    ----------
    light : float32 array of shape (rows, columns), 0..255
    sigma : reach of "local", pixels
    floor : contrast in grey levels below which nothing is amplified, so that paper
        grain stays faint
    """
    off = light - _wide_blur(light, sigma)
    spread = _wide_blur(off * off, sigma)
    return np.asarray(off / np.sqrt(spread + floor * floor), dtype=np.float32)


def _wide_blur(light: Floats, sigma: float) -> Floats:
    """Blur widely at a fraction of the size: nobody sees the difference, it is fast."""
    k = int(sigma // 4)
    high, wide = light.shape
    if k < 2 or min(high, wide) < 8 * k:
        return np.asarray(cv2.GaussianBlur(light, (0, 0), sigma))
    small = cv2.resize(light, (wide // k, high // k), interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), sigma / k)
    return np.asarray(cv2.resize(soft, (wide, high), interpolation=cv2.INTER_LINEAR))


def seen_from(
    picture: Bytes, matrix: Matrix, size: tuple[int, int]
) -> tuple[Bytes, Mask]:
    """Lay a picture into a frame without aliasing, and say where it has pixels.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3)
    matrix : 3 x 3, picture pixels to frame pixels
    size : (width, height) of the frame

    Returns
    -------
    uint8 picture in the frame (its edge pixels repeat outwards) and a uint8 mask, 255
    where it is the picture.
    """
    high, wide = picture.shape[:2]
    scale = float(np.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
    middle = matrix @ np.array([wide / 2, high / 2, 1.0])
    scale /= abs(middle[2]) ** 1.5 if abs(middle[2]) > 1e-9 else 1.0
    if scale < 0.8:
        small, back = shrunk(picture, max(2, round(max(high, wide) * scale)))
        picture, matrix = small, matrix @ back
        high, wide = picture.shape[:2]
    laid = cv2.warpPerspective(
        picture,
        matrix,
        size,
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )
    solid = np.full((high, wide), 255, np.uint8)
    mask = cv2.warpPerspective(solid, matrix, size, flags=cv2.INTER_NEAREST)
    return laid, mask
