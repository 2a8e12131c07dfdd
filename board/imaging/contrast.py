"""How clearly one colour stands on another, by the published web measure."""

import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Floats, linear

_WEIGHTS = np.array([0.2126, 0.7152, 0.0722], np.float32)
_OF_BYTE = linear(np.arange(256, dtype=np.float32) / np.float32(255))


def relative_luminance(rgb: Bytes | Floats | tuple[int, int, int]) -> Floats:
    """Weigh sRGB by how bright its light looks.

    Parameters
    ----------
    rgb : array of shape (..., 3), whole numbers 0..255 or floats 0..1

    Returns
    -------
    float32 array of shape (...), 0 for black to 1 for white.

    References
    ----------
    WCAG 2.2, definition of relative luminance.
    """
    values = np.asarray(rgb)
    light = (
        _OF_BYTE[values]
        if np.issubdtype(values.dtype, np.integer)
        else linear(values.astype(np.float32))
    )
    return np.asarray(light @ _WEIGHTS, dtype=np.float32)


def contrast_ratio(
    rgb1: Bytes | Floats | tuple[int, int, int],
    rgb2: Bytes | Floats | tuple[int, int, int],
) -> npt.NDArray[np.float32]:
    """Give the contrast of two colours, 1 to 21, never rounded.

    Parameters
    ----------
    rgb1, rgb2 : arrays of shape (..., 3) that broadcast, 0..255 or floats 0..1

    References
    ----------
    WCAG 2.2, definition of contrast ratio; 4.499 does not reach 4.5.
    """
    one, two = relative_luminance(rgb1), relative_luminance(rgb2)
    lighter, darker = np.maximum(one, two), np.minimum(one, two)
    return np.asarray((lighter + 0.05) / (darker + 0.05), dtype=np.float32)
