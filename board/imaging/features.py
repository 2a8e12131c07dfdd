"""Candidates for how a picture lies, from points that look the same in both."""

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Matrix, Points
from board.imaging.working import evened, grey

FEWEST = 12
MOST = 3000

Found = tuple[Points, Floats]


def found(picture: Bytes) -> Found:
    """Find points that can be found again, with RootSIFT descriptions.

    Parameters
    ----------
    picture : uint8 array of shape (rows, columns, 3), some 600 to 1,200 pixels long

    Returns
    -------
    float64 array (n, 2) of x, y and float32 array (n, 128) of unit length.

    References
    ----------
    Lowe, IJCV 60(2), 2004; Arandjelovic and Zisserman, CVPR 2012 (RootSIFT).
    """
    flat = np.clip(128 + 48 * evened(grey(picture), 24.0), 0, 255).astype(np.uint8)
    sift = cv2.SIFT_create(nfeatures=MOST, contrastThreshold=0.03, edgeThreshold=12)
    points, described = sift.detectAndCompute(flat, None)
    if described is None or len(points) < 2:
        return np.empty((0, 2)), np.empty((0, 128), np.float32)
    described /= np.maximum(described.sum(axis=1, keepdims=True), 1e-6)
    at = np.array([point.pt for point in points], np.float64)
    return at, np.sqrt(described)


def mirrored(points: Points, described: Floats, wide: int) -> Found:
    """Give what `found` would find in the mirrored picture, `wide` pixels wide.

    Mirroring swaps the sides of each description's 4 x 4 cells across its own direction
    and the sense in which its 8 directions turn; nothing need be looked for again.
    """
    cells = described.reshape(-1, 4, 4, 8)
    turned = cells[:, ::-1][..., (0, 7, 6, 5, 4, 3, 2, 1)]
    at = points * (-1, 1) + (wide - 1, 0)
    return at, np.ascontiguousarray(turned).reshape(-1, 128)


def matched(one: Floats, two: Floats, ratio: float = 0.9) -> npt.NDArray[np.intp]:
    """Pair descriptions that choose each other, best against second best by ratio.

    Parameters
    ----------
    one, two : float32 arrays (n, 128) and (m, 128) of unit length

    Returns
    -------
    whole-number array (k, 2) of indices into one and two.
    """
    if len(one) < 2 or len(two) < 2:
        return np.empty((0, 2), np.intp)
    near = one @ two.T
    there = near.argmax(axis=1)
    back = (two @ one.T).argmax(axis=1)  # sooner than down the columns of `near`
    mine = np.arange(len(one))
    best = near[mine, there]
    near[mine, there] = -2
    second = near.max(axis=1)
    far = np.sqrt(np.maximum(2 - 2 * best, 0))
    clear = far < ratio * np.sqrt(np.maximum(2 - 2 * second, 0))
    kept = (back[there] == mine) & clear
    return np.column_stack([mine[kept], there[kept]])


def candidates(
    newer: Found, older: Found, most: int = 3
) -> Iterator[tuple[Matrix, int]]:
    """Give matrices newer -> older, best first, each from matches the last left over.

    A clipping that moved, or that two strangers share, can win the first round; the
    sheet itself then wins the second.
    """
    pairs = matched(newer[1], older[1])
    src, dst = newer[0][pairs[:, 0]], older[0][pairs[:, 1]]
    for _ in range(most):
        if len(src) < FEWEST:
            return
        matrix, agree = cv2.findHomography(
            src, dst, cv2.USAC_MAGSAC, 3.0, maxIters=4000, confidence=0.9995
        )
        if matrix is None:
            return
        inside = agree.ravel().astype(bool)
        if inside.sum() < FEWEST:
            return
        yield np.asarray(matrix, np.float64), int(inside.sum())
        src, dst = src[~inside], dst[~inside]
