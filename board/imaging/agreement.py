"""One round of laying: patches slide, a matrix is fitted, agreement is weighed."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from board.imaging import patches
from board.imaging.colour import Bytes, Floats
from board.imaging.patches import Slides
from board.imaging.sheet import Matrix, Points, apply, inverse, is_sane, residuals
from board.imaging.structure import trimmed
from board.imaging.working import Mask, at_once, enlarging, seen_from, shrunk

FEWEST = 14
OVERLAP = 0.55


@dataclass(frozen=True)
class Look:
    """What is compared, and how.

    A patch as alike as `alike` has a say in the fit, one as alike as `sure` also in
    whether the fit is believed.
    """

    draw: Callable[[Bytes], Floats]
    least: float
    alike: float
    sure: float
    freedom: str
    trim: float = 0.0


@dataclass(frozen=True)
class Step:
    """At what size, with patches how large, how far, how many, and how strict.

    What is compared is drawn `finer` times as large first.
    """

    longest: int
    half: int
    reach: int
    most: int
    within: float
    finer: int = 1


@dataclass(frozen=True)
class Fit:
    """A matrix newer -> older and the evidence for it.

    `share` is how many of the surely alike patches agree beyond chance, `cover` how
    much of the sheet they cover, `error` the likely largest error in older pixels,
    `agree` how many of all patches lie where the matrix says.
    """

    matrix: Matrix
    share: float
    cover: float
    confidence: float
    error: float
    agree: float = 0.0


def settled(
    newer: Bytes, older: Bytes, matrix: Matrix, step: Step, look: Look
) -> Fit | None:
    """Improve a matrix at one size and weigh the patches that agree with it.

    Parameters
    ----------
    newer, older : uint8 RGB arrays
    matrix : 3 x 3, newer pixels to older pixels, roughly right

    Returns
    -------
    The better matrix with its evidence, or None when nothing agrees at all.
    """
    frame, back = shrunk(older, step.longest)
    into = inverse(back) @ matrix
    slides = _slides(newer, older, into, step, look)
    if slides is None:
        return None
    found = patches.agreed(
        slides, alike=look.alike, within=step.within, freedom=look.freedom
    )
    if found is None:
        return None
    better = back @ found.matrix
    better = better / better[2, 2]
    size = (newer.shape[1], newer.shape[0])
    if not is_sane(better, size) or _overlap(newer, older, better) < OVERLAP:
        return None
    near = residuals(found.matrix, slides.found, slides.at) < step.within
    ok = near & (found.weights > 0)
    chance = min(0.9, np.pi * step.within**2 / (2 * step.reach + 1) ** 2)
    sure = slides.alike > look.sure
    asked = max(float(sure.sum()), 0.4 * len(ok))
    share = max(0.0, (float((ok & sure).sum()) / asked - chance) / (1 - chance))
    cover = _cover(slides.at, ok & sure) * _spread(slides.at, ok & sure)
    corners = seen_corners(newer, frame, into)
    error = patches.wobble(slides, found.weights, found.freedom, corners)
    scale = max(older.shape[:2]) / max(frame.shape[:2])
    confidence = _confidence(share, cover)
    return Fit(better, share, cover, confidence, error * scale, float(ok.mean()))


def seen_corners(newer: Bytes, frame: Bytes, into: Matrix) -> Points:
    """Give the newer's corners (4, 2), those outside of the frame brought to its edge.

    `into` takes newer pixels to the frame's; a table round the art counts for nothing.
    """
    corners = apply(into, _corners(newer.shape[1] - 1, newer.shape[0] - 1))
    edge = np.array([frame.shape[1] - 1, frame.shape[0] - 1])
    return apply(inverse(into), np.clip(corners, 0, edge))


def _slides(
    newer: Bytes, older: Bytes, into: Matrix, step: Step, look: Look
) -> Slides | None:
    """Slide patches of the older frame over the newer laid there.

    The places found are given in the newer's own pixels: a fit from there has the
    freedom of the whole way, not of one more small correction to it.
    """
    mine, theirs, mask = _drawn(newer, older, into, step, look)
    size = (mask.shape[1], mask.shape[0])
    if look.trim:
        mask = _without_edges(newer, into, size, look.trim) & trimmed(mask, look.trim)
    at = patches.textured(mine, mask, half=step.half, most=step.most, least=look.least)
    if len(at) < FEWEST:
        return None
    slides = patches.slid(mine, theirs, at, half=step.half, reach=step.reach)
    return replace(slides, found=apply(inverse(into), slides.found))


def _drawn(
    newer: Bytes, older: Bytes, into: Matrix, step: Step, look: Look
) -> tuple[Floats, Floats, Mask]:
    """Draw both as the look says, `finer` times as large, and shrink them to the step.

    What is too fine for the step's own size still says which way it ran.
    """
    frame, _ = shrunk(older, step.longest)
    fine, _ = shrunk(older, step.longest * step.finer)
    size, large = ((p.shape[1], p.shape[0]) for p in (frame, fine))
    grown = enlarging(large[0] / size[0], large[1] / size[1])
    laid, mask = seen_from(newer, grown @ into, large)
    mine, theirs = at_once(look.draw, fine, laid)
    if large == size:
        return mine, theirs, mask
    mine, theirs = (
        cv2.resize(one, size, interpolation=cv2.INTER_AREA) for one in (mine, theirs)
    )
    return mine, theirs, cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST)


def _overlap(newer: Bytes, older: Bytes, matrix: Matrix) -> float:
    """Give the overlap as a share of whichever picture it fills more."""
    high, wide = older.shape[:2]
    outline = apply(matrix, _corners(newer.shape[1], newer.shape[0]))
    both, _ = cv2.intersectConvexConvex(
        outline.astype(np.float32), _corners(wide, high).astype(np.float32)
    )
    area = cv2.contourArea(outline.astype(np.float32))
    return float(both / max(min(high * wide, area), 1.0))


def _corners(wide: float, high: float) -> Points:
    return np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float64)


def _without_edges(
    newer: Bytes, into: Matrix, size: tuple[int, int], share: float
) -> Mask:
    """Give where the newer lies in the frame, its outer share left out."""
    solid = np.full(newer.shape[:2], 255, np.uint8)
    return np.asarray(
        cv2.warpPerspective(trimmed(solid, share), into, size, flags=cv2.INTER_NEAREST),
        np.uint8,
    )


def _cover(at: Points, ok: npt.NDArray[np.bool_]) -> float:
    """Give the share of cells of a 5 x 4 grid over the patches in which some agree."""
    low, high = at.min(axis=0), at.max(axis=0)
    cell = (at - low) / np.maximum(high - low, 1e-9) * [5, 4]
    cell = np.minimum(cell, [4.999, 3.999]).astype(int)
    number = cell[:, 0] * 4 + cell[:, 1]
    asked = np.bincount(number, minlength=20)
    said = np.bincount(number[ok], minlength=20)
    filled = asked >= 2
    if filled.sum() < 4:
        return 0.0
    return float(np.mean(said[filled] >= np.maximum(2, 0.2 * asked[filled])))


def _spread(at: Points, ok: npt.NDArray[np.bool_]) -> float:
    """Give how widely the agreeing patches lie, against all: one clipping is narrow."""
    if ok.sum() < 6:
        return 0.0
    mine, every = (float(np.linalg.det(np.cov(p.T))) for p in (at[ok], at))
    return min(1.0, 1.6 * float(np.sqrt(max(mine, 0.0) / max(every, 1e-9))))


def _confidence(share: float, cover: float) -> float:
    """Turn evidence into 0..1: strangers reach a share of 0.3, true pairs 0.46 up."""
    one = 1 / (1 + np.exp(-(share - 0.38) / 0.05))
    two = 1 / (1 + np.exp(-(cover - 0.5) / 0.08))
    return float(one * two)
