"""General methods to print beside ours: what anybody would try first."""

from collections.abc import Callable

import cv2
import numpy as np
from skimage.metrics import structural_similarity
from skimage.registration import phase_cross_correlation

Picture = np.ndarray
Method = Callable[[Picture, Picture], np.ndarray | None]
LONGEST = 1200


def _grey(picture: Picture) -> tuple[Picture, np.ndarray]:
    k = min(1.0, LONGEST / max(picture.shape[:2]))
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    small = cv2.resize(grey, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
    return small, np.diag([k, k, 1.0])


def _by_points(finder: cv2.Feature2D, norm: int) -> Method:
    def method(newer: Picture, older: Picture) -> np.ndarray | None:
        (one, to_one), (two, to_two) = _grey(newer), _grey(older)
        points1, seen1 = finder.detectAndCompute(one, None)
        points2, seen2 = finder.detectAndCompute(two, None)
        if seen1 is None or seen2 is None or min(len(points1), len(points2)) < 4:
            return None
        pairs = cv2.BFMatcher(norm).knnMatch(seen1, seen2, k=2)
        good = [a for a, *b in pairs if b and a.distance < 0.75 * b[0].distance]
        if len(good) < 10:
            return None
        src = np.array([points1[m.queryIdx].pt for m in good], np.float32)
        dst = np.array([points2[m.trainIdx].pt for m in good], np.float32)
        matrix, _ = cv2.findHomography(src, dst, cv2.RANSAC, 4.0)
        return None if matrix is None else np.linalg.inv(to_two) @ matrix @ to_one

    return method


def orb(newer: Picture, older: Picture) -> np.ndarray | None:
    """ORB points and RANSAC."""
    return _by_points(cv2.ORB_create(4000), cv2.NORM_HAMMING)(newer, older)


def sift(newer: Picture, older: Picture) -> np.ndarray | None:
    """SIFT points, ratio test and RANSAC."""
    return _by_points(cv2.SIFT_create(4000), cv2.NORM_L2)(newer, older)


def phase(newer: Picture, older: Picture) -> np.ndarray | None:
    """Phase correlation of scikit-image after fitting the sizes: a shift only."""
    two, to_two = _grey(older)
    k = (two.shape[1] / newer.shape[1], two.shape[0] / newer.shape[0])
    one = cv2.cvtColor(newer, cv2.COLOR_RGB2GRAY)
    one = cv2.resize(one, (two.shape[1], two.shape[0]), interpolation=cv2.INTER_AREA)
    (dy, dx), *_ = phase_cross_correlation(two, one, upsample_factor=10)
    slide = np.array([[1, 0, dx], [0, 1, dy], [0, 0, 1.0]])
    return np.linalg.inv(to_two) @ slide @ np.diag([k[0], k[1], 1.0])


LAYERS: dict[str, Method] = {
    "ORB + RANSAC": orb,
    "SIFT + RANSAC": sift,
    "phase correlation": phase,
}


def absolute(before: Picture, after: Picture, mask: Picture) -> Picture:
    """Say where any channel differs by more than 25 of 255."""
    return (cv2.absdiff(before, after).max(axis=2) > 25) & (mask > 0)


def ssim(before: Picture, after: Picture, mask: Picture) -> Picture:
    """Say where structural similarity falls below a half."""
    one, two = (cv2.cvtColor(p, cv2.COLOR_RGB2GRAY) for p in (before, after))
    _, field = structural_similarity(one, two, full=True, data_range=255)
    return (cv2.GaussianBlur(field, (0, 0), 3) < 0.5) & (mask > 0)


MAPPERS = {"absolute difference": absolute, "SSIM": ssim}


def boxes_of(flags: Picture) -> list[tuple[float, float, float, float]]:
    """Gather flagged pixels into boxes, in fractions, 100 pixels at least."""
    joined = cv2.dilate(flags.astype(np.uint8), np.ones((9, 9), np.uint8))
    count, _labels, stats, _ = cv2.connectedComponentsWithStats(joined)
    rows, columns = flags.shape
    return [
        (x / columns, y / rows, w / columns, h / rows)
        for x, y, w, h, area in stats[1:count]
        if area >= 100
    ]
