"""A clipping found in the art: searched from the art to the clipping, then proved."""

from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging.colour import Bytes, Floats
from board.imaging.sheet import Matrix
from board.imaging.working import evened, grey, shrunk

ART_PX: Final = 1600
CLIPPING_PX: Final = 1000
FEWEST: Final = 6  # agreeing points, and patches that look alike
ALIKE: Final = 0.6  # local correlation
SURE: Final = 0.62  # mean local correlation over the found piece
SMALLEST: Final = 0.0012  # of the art
SEEDS: Final = 14
FLAT: Final = 7.0  # of 255, mean difference where there is nothing to correlate
Votes = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Found:
    """Where a clipping lies: `box` is x, y, width, height in fractions of the art."""

    found: bool
    confidence: float = 0.0
    box: tuple[float, float, float, float] | None = None
    matrix: Matrix | None = None


NOT_FOUND: Final = Found(found=False)


def find_clipping(clipping: Bytes, art: Bytes) -> Found:
    """Find the part of a clipping that was pasted into the art, turned and scaled.

    Parameters
    ----------
    clipping, art : uint8 arrays of shape (rows, columns, 3), sRGB

    Returns
    -------
    Found; its matrix takes the clipping's pixels to the art's, both as given. What is
    not proved by the pixels themselves is not found.

    References
    ----------
    Lowe, IJCV 60(2), 2004, section 7: votes for a pose, then verification.
    """
    if min(clipping.shape[:2]) < 24 or min(art.shape[:2]) < 24:
        return NOT_FOUND
    small, to_art = shrunk(art, ART_PX)
    piece, to_clipping = shrunk(clipping, CLIPPING_PX)
    votes, pairs = _votes(piece, small)
    best = NOT_FOUND
    for chosen in _clusters(votes, max(small.shape[:2])):
        matrix = _pose(pairs[chosen])
        if matrix is None:
            continue
        proved = _proved(piece, small, matrix)
        if proved.confidence > best.confidence:
            best = proved
    if best.matrix is None:
        return NOT_FOUND
    whole = to_art @ best.matrix @ np.linalg.inv(to_clipping)
    return Found(best.confidence >= SURE, best.confidence, best.box, whole)


def _points(picture: Bytes, most: int) -> tuple[list[Any], Floats]:
    """SIFT points of evened light with RootSIFT descriptions; OpenCV's own objects."""
    flat = np.clip(128 + 48 * evened(grey(picture), 24.0), 0, 255).astype(np.uint8)
    sift = cv2.SIFT_create(nfeatures=most, contrastThreshold=0.008, edgeThreshold=20)
    points, described = sift.detectAndCompute(flat, None)
    if described is None:
        return [], np.empty((0, 128), np.float32)
    described /= np.maximum(described.sum(axis=1, keepdims=True), 1e-6)
    return list(points), np.sqrt(described)


def _votes(piece: Bytes, art: Bytes) -> tuple[Votes, Votes]:
    """Each art point's best look-alike on the clipping, as a vote for a pose.

    Returns votes (n, 4): log2 scale, turn in degrees, where the clipping's middle would
    lie (x, y); and pairs (n, 4): clipping x, y, art x, y.
    """
    theirs, known = _points(piece, 4000)
    ours, seen = _points(art, 9000)
    if len(theirs) < FEWEST or len(ours) < FEWEST:
        return np.empty((0, 4)), np.empty((0, 4))
    near = seen @ known.T
    order = np.argpartition(-near, 1, axis=1)[:, :2]
    rows = np.arange(len(near))
    two = near[rows[:, None], order]
    first = order[rows, two.argmax(axis=1)]
    apart = np.sqrt(np.maximum(2 - 2 * np.sort(two, axis=1)[:, ::-1], 0))
    kept = np.flatnonzero(apart[:, 0] < 0.9 * apart[:, 1])
    middle = np.array([piece.shape[1] / 2, piece.shape[0] / 2])
    votes, pairs = [], []
    for row in kept:
        there, here = theirs[first[row]], ours[row]
        scale = here.size / max(there.size, 1e-3)
        turn = np.radians(here.angle - there.angle)
        reach = scale * (middle - there.pt)
        cos, sin = np.cos(turn), np.sin(turn)
        at = (
            here.pt[0] + cos * reach[0] - sin * reach[1],
            here.pt[1] + sin * reach[0] + cos * reach[1],
        )
        votes.append((np.log2(scale), np.degrees(turn) % 360, *at))
        pairs.append((*there.pt, *here.pt))
    return np.array(votes).reshape(-1, 4), np.array(pairs).reshape(-1, 4)


def _clusters(votes: Votes, longest: int) -> list[npt.NDArray[np.intp]]:
    """The poses most points vote for, best first; near-equal ones only once."""
    if len(votes) < FEWEST:
        return []
    scale = np.abs(votes[:, None, 0] - votes[None, :, 0]) < 0.4
    turn = np.abs((votes[:, None, 1] - votes[None, :, 1] + 180) % 360 - 180) < 18
    far = np.hypot(
        votes[:, None, 2] - votes[None, :, 2], votes[:, None, 3] - votes[None, :, 3]
    )
    agree = scale & turn & (far < 0.08 * longest)
    found: list[npt.NDArray[np.intp]] = []
    free = np.ones(len(votes), bool)
    while len(found) < SEEDS:
        counts = (agree & free).sum(axis=1) * free
        seed = int(counts.argmax())
        if counts[seed] < FEWEST - 2:
            break
        chosen = np.flatnonzero(agree[seed])
        found.append(chosen)
        free[chosen] = False
    return found


def _pose(pairs: Votes) -> Matrix | None:
    """The turn, scale and shift that most of a cluster's pairs agree on."""
    there, here = pairs[:, :2].astype(np.float32), pairs[:, 2:].astype(np.float32)
    matrix, kept = cv2.estimateAffinePartial2D(
        there, here, method=cv2.RANSAC, ransacReprojThreshold=4.0, maxIters=3000
    )
    if matrix is None or int(kept.sum()) < FEWEST - 1:
        return None
    good = kept.ravel() > 0
    finer, _ = (
        cv2.estimateAffine2D(there[good], here[good], method=cv2.LMEDS)
        if good.sum() >= 10
        else (None, None)
    )
    chosen = matrix if finer is None else finer
    stretch = np.linalg.svd(chosen[:, :2], compute_uv=False)
    if not 0.08 < stretch[1] <= stretch[0] < 8 or stretch[0] > 1.35 * stretch[1]:
        return None
    return np.vstack([chosen, [0, 0, 1]]).astype(np.float64)


def _proved(piece: Bytes, art: Bytes, matrix: Matrix) -> Found:
    """Hold the laid clipping against the art, window by window."""
    size = (art.shape[1], art.shape[0])
    laid = cv2.warpAffine(grey(piece), matrix[:2], size, flags=cv2.INTER_AREA)
    there = cv2.warpAffine(np.ones(piece.shape[:2], np.uint8), matrix[:2], size)
    there = cv2.erode(there, np.ones((9, 9), np.uint8))
    if not there.any():
        return NOT_FOUND
    alike, textured = _alike(laid.astype(np.float32), grey(art))
    same = ((alike > ALIKE) & textured & (there > 0)).astype(np.uint8)
    same = cv2.morphologyEx(same, cv2.MORPH_CLOSE, np.ones((25, 25), np.uint8))
    same = cv2.morphologyEx(same, cv2.MORPH_OPEN, np.ones((11, 11), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(same)
    if count < 2:
        return NOT_FOUND
    largest = 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
    if stats[largest, cv2.CC_STAT_AREA] < SMALLEST * same.size:
        return NOT_FOUND
    core = labels == largest
    inside = core & textured & (there > 0)
    sure = float(alike[inside].mean()) if inside.any() else 0.0
    x, y, w, h = _reach(core, laid.astype(np.float32), grey(art), there > 0)
    high, wide = art.shape[:2]
    return Found(sure >= SURE, sure, (x / wide, y / high, w / wide, h / high), matrix)


def _reach(
    core: npt.NDArray[np.bool_], laid: Floats, art: Floats, there: npt.NDArray[np.bool_]
) -> tuple[int, int, int, int]:
    """Grow what was proved over flat places of the same tone; x, y, width, height."""
    gain, lift = np.polyfit(laid[core], art[core], 1)
    off = cv2.blur(np.abs(gain * laid + lift - art), (9, 9))
    near = ((off < FLAT) & there | core).astype(np.uint8)
    near = cv2.morphologyEx(near, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8)) | core
    _, labels, stats, _ = cv2.connectedComponentsWithStats(near.astype(np.uint8))
    most = int(np.bincount(labels[core]).argmax())
    x, y, w, h, _ = (int(value) for value in stats[most])
    return x, y, w, h


def _alike(one: Floats, two: Floats) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Correlation in windows of 21 pixels, and where both have something to compare."""
    window = (21, 21)
    mean1, mean2 = cv2.blur(one, window), cv2.blur(two, window)
    var1 = np.maximum(cv2.blur(one * one, window) - mean1 * mean1, 0)
    var2 = np.maximum(cv2.blur(two * two, window) - mean2 * mean2, 0)
    both = cv2.blur(one * two, window) - mean1 * mean2
    alike = both / np.sqrt(np.maximum(var1 * var2, 1e-6))
    textured = (var1 > 6.0) & (var2 > 6.0)
    return np.where(textured, alike, 0).astype(np.float32), textured
