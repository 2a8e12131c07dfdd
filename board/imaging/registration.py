"""Lay one picture on another by itself, say how surely, or say why not."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from board.imaging import features, structure
from board.imaging.agreement import Fit, Look, Step, seen_corners, settled
from board.imaging.colour import Bytes, Floats
from board.imaging.consensus import together
from board.imaging.sheet import Matrix, corner_shift, is_sane, shift_at
from board.imaging.working import at_once, evened, grey, shrunk

LONGEST = 2000
SHORTEST = 24
ENOUGH = 0.65
# Of 300 guesses at strangers none reached 0.3, two crops of one photograph apart; of 66
# true pairs all but drawings of a single arc reached 0.95.
PROVED = 0.8
WIDEST = 0.006
WIDEST_DRAWN = 0.015
ASTRAY = 0.02
SETTLED = 1.0
# Measured on 152 drawn / painted pairs of three manners and the demo book: where only
# structure agrees, the true error reached 4.1 times the resampled bar, in nine of ten 1.9.
STRUCTURE_DOUBT = 3.5
STRUCTURE_SURE = 0.7

NOT_THE_SAME = (
    "Too little of the two pictures agrees to lay one on the other. "
    "Check that they show the same spread, or lay it by hand with pairs of points."
)
MIRRORED = (
    "The newer picture is mirrored: left and right are swapped. "
    "Turn it face up in the scanner or flip the file, then send it again."
)
BLANK = "The {which} picture is blank or one colour: there is nothing to lay it by."
SMALL = "The {which} picture is too small to lay: it needs at least 24 pixels a side."


@dataclass(frozen=True)
class Registration:
    """How the newer picture lies on the older one.

    `matrix` takes newer pixels to older pixels, or is None when refused; `reason` then
    says why. `confidence` runs from 0 to 1; `error_bar` is the likely largest error as
    a share of the older picture's diagonal. Laid by structure alone, drawn against
    painted, it is never called sure, and its bar is widened by what was measured.
    """

    matrix: Matrix | None
    confidence: float
    error_bar: float
    reason: str = ""
    mirrored: bool = False


def register(
    newer: Bytes, older: Bytes, *, across_manners: bool = False
) -> Registration:
    """Find where the newer picture lies on the older one, or refuse in words.

    Parameters
    ----------
    newer, older : uint8 RGB arrays of shape (rows, columns, 3), any two sizes
    across_manners : one is drawn and the other painted, so that only where lines and
        edges run can agree

    Returns
    -------
    A Registration; nothing is ever raised for what the pictures show.

    References
    ----------
    RootSIFT matches, MAGSAC (Barath et al., CVPR 2019), normalised correlation of
    patches; across manners phase-free correlation of doubled edge directions.
    """
    refusal = _hopeless(newer, "newer") or _hopeless(older, "older")
    if refusal:
        return Registration(None, 0.0, 1.0, refusal)
    new, new_back = shrunk(newer, LONGEST)
    old, old_back = shrunk(older, LONGEST)
    sizes = POINTS_AT[1:] if across_manners else POINTS_AT
    points, fit = _by_points(new, old, sizes)
    by_looks = fit is not None
    if fit is None:
        if points.flipped().laid(_flipped(new), old, quick=True) is not None:
            return Registration(None, 0.0, 1.0, MIRRORED, mirrored=True)
        fit = by_structure(new, old)
    diagonal = float(np.hypot(*old.shape[:2]))
    widest = WIDEST if by_looks else WIDEST_DRAWN
    if fit is None or fit.error / diagonal > widest:
        if across_manners and by_structure(_flipped(new), old) is not None:
            return Registration(None, 0.0, 1.0, MIRRORED, mirrored=True)
        return Registration(None, 0.0, 1.0, NOT_THE_SAME)
    matrix = old_back @ fit.matrix @ np.linalg.inv(new_back)
    sure, bar = fit.confidence, fit.error / diagonal
    if across_manners and not by_looks:
        sure = min(sure, STRUCTURE_SURE)
    return Registration(matrix / matrix[2, 2], sure, bar)


def _hopeless(picture: Bytes, which: str) -> str:
    """Say why a picture cannot be laid whatever the other one is, or nothing."""
    if min(picture.shape[:2]) < SHORTEST:
        return SMALL.format(which=which)
    small, _ = shrunk(picture, 500)
    spread = np.percentile(cv2.GaussianBlur(grey(small), (0, 0), 1.5), [0.2, 99.8])
    if spread[1] - spread[0] < 6:
        colours = cv2.GaussianBlur(small, (0, 0), 1.5).reshape(-1, 3)
        low, high = np.percentile(colours, [0.2, 99.8], axis=0)
        if (high - low).max() < 8:
            return BLANK.format(which=which)
    return ""


def _flipped(picture: Bytes) -> Bytes:
    return np.ascontiguousarray(picture[:, ::-1])


def _tones(picture: Bytes) -> Floats:
    return evened(cv2.GaussianBlur(grey(picture), (0, 0), 0.9), 16.0)


TONES = Look(_tones, least=0.004, alike=0.55, sure=0.55, freedom="projective")
FEATURE_STEPS = (
    Step(1000, half=12, reach=10, most=400, within=3.0),
    Step(2000, half=14, reach=6, most=400, within=4.0),
    Step(2000, half=14, reach=4, most=400, within=4.0),
)


# Most pairs are laid from the small copy; what it misses, finer points may find.
POINTS_AT = (600, 1200)


@dataclass(frozen=True)
class _Points:
    """What stands out in both pictures at one size, and the ways back from there."""

    new: features.Found
    old: features.Found
    new_back: Matrix
    old_back: Matrix
    wide: int

    @staticmethod
    def of(new: Bytes, old: Bytes, longest: int) -> "_Points":
        (one, new_back), (two, old_back) = shrunk(new, longest), shrunk(old, longest)
        mine, theirs = at_once(features.found, one, two)
        return _Points(mine, theirs, new_back, old_back, one.shape[1])

    def flipped(self) -> "_Points":
        """Give the same for the newer picture mirrored."""
        return replace(self, new=features.mirrored(*self.new, self.wide))

    def laid(self, new: Bytes, old: Bytes, *, quick: bool = False) -> Fit | None:
        """Lay by points that look the same, proved by patches all over the sheet."""
        for guess, _ in features.candidates(self.new, self.old):
            matrix = self.old_back @ guess @ np.linalg.inv(self.new_back)
            if not is_sane(matrix, (new.shape[1], new.shape[0])):
                continue
            fit = _proved(new, old, matrix / matrix[2, 2], quick=quick)
            if fit is not None:
                return fit
        return None


def _by_points(
    new: Bytes, old: Bytes, sizes: tuple[int, ...]
) -> tuple[_Points, Fit | None]:
    """Lay by points at one size after the other until it is proved."""
    for longest in sizes:
        points = _Points.of(new, old, longest)
        fit = points.laid(new, old)
        if fit is not None:
            break
    return points, fit


def _proved(new: Bytes, old: Bytes, matrix: Matrix, *, quick: bool) -> Fit | None:
    """Refine a matrix step by step, as long as the patches agree and it still moves."""
    fit: Fit | None = None
    for step in FEATURE_STEPS[: 1 if quick else 3]:
        fit = settled(new, old, matrix, step, TONES)
        if fit is None or fit.confidence < ENOUGH:
            return None
        moved = corner_shift(matrix, fit.matrix, (new.shape[1], new.shape[0]))
        matrix = fit.matrix
        if step.longest == LONGEST and moved < SETTLED:
            break
    return fit


def _lines(picture: Bytes) -> Floats:
    return structure.edges(picture, 1.4, 24.0)


def _strokes(picture: Bytes) -> Floats:
    return structure.edges(picture, 0.7, 24.0)


LINES = Look(_lines, least=0.001, alike=0.12, sure=0.12, freedom="either", trim=0.03)
STROKES = replace(LINES, draw=_strokes)
FIRST = Step(250, half=20, reach=16, most=80, within=5.0, finer=2)
# Far to look and little room to agree by chance: what agrees here is believed.
PROOF = Step(1000, half=36, reach=24, most=200, within=6.0)


def by_structure(new: Bytes, old: Bytes) -> Fit | None:
    """Lay by where lines and edges run, whatever drew them."""
    size = (new.shape[1], new.shape[0])
    sane = [g for g in structure.guesses(new, old) if is_sane(g.matrix, size)]
    tried = at_once(lambda g: settled(new, old, g.matrix, FIRST, LINES), *sane)
    ranked = [fit for fit in tried if fit is not None]
    ranked.sort(key=lambda fit: -fit.agree * (0.2 + fit.share * fit.cover))
    for first in ranked[:2]:
        fit = _believed(new, old, first)
        if fit is not None:
            return fit
    return None


def _believed(new: Bytes, old: Bytes, first: Fit) -> Fit | None:
    """Hold a rough fit to its lines all over the sheet, then let them draw it right."""
    proof = settled(new, old, first.matrix, PROOF, LINES)
    if proof is None or proof.confidence < PROVED:
        return None
    return _drawn_together(new, old, proof)


def _drawn_together(new: Bytes, old: Bytes, fit: Fit) -> Fit:
    """Let all patches climb together; where they lead far astray, keep the peaks' fit.

    The bar is the resampled one widened by what was measured, and never less than half
    of what the two ways of fitting differ.
    """
    better = together(new, old, fit.matrix, STROKES)
    if better is None or not is_sane(better.matrix, (new.shape[1], new.shape[0])):
        return replace(fit, error=fit.error * STRUCTURE_DOUBT)
    seen = seen_corners(new, old, fit.matrix)
    moved = shift_at(seen, better.matrix, fit.matrix)
    if moved > ASTRAY * max(old.shape[:2]):
        return replace(fit, error=max(fit.error * STRUCTURE_DOUBT, moved / 2))
    error = max(better.error * STRUCTURE_DOUBT, moved / 2)
    return replace(fit, matrix=better.matrix, error=error)
