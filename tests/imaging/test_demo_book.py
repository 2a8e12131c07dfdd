"""The six spreads of the invented book: what truly changed is what is found."""

from typing import Any

import numpy as np
import pytest

from board.imaging.change import ChangeMap, change_map
from board.imaging.registration import register
from board.imaging.working import seen_from, shrunk
from fixtures.drawing import SHOTS, draw_revision, landing, shoot

Box = tuple[float, float, float, float]
Picture = np.ndarray[Any, np.dtype[np.uint8]]
Matrix = np.ndarray[Any, np.dtype[np.float64]]
# Regions on the trimmed sheet, as the book's own list of true differences has them.
TRUE: dict[tuple[str, str, str], tuple[Box, ...]] = {
    ("8-9", "sk1", "sk2"): ((0.34, 0.30, 0.21, 0.18), (0.06, 0.06, 0.34, 0.26)),
    ("10-11", "sk1", "sk2"): ((0.48, 0.34, 0.28, 0.22),),
    ("14-15", "sk1", "sk2"): ((0.56, 0.44, 0.32, 0.26), (0.06, 0.70, 0.36, 0.20)),
    ("20-21", "sk1", "sk2"): ((0.38, 0.36, 0.16, 0.20), (0.44, 0.52, 0.24, 0.12)),
    ("8-9", "fa1", "fa2"): ((0.31, 0.44, 0.16, 0.20),),
    ("10-11", "fa1", "fa2"): ((0.996, -0.01, 0.01, 1.02),),
    ("14-15", "fa1", "fa2"): ((0.80, 0.64, 0.07, 0.08),),
    ("16-17", "fa1", "fa2"): ((0.60, 0.08, 0.34, 0.24), (0.33, 0.32, 0.04, 0.05)),
    ("20-21", "fa1", "fa2"): ((0.36, 0.50, 0.14, 0.26),),
    ("26-27", "fa1", "fa2"): (),
}


def compared(item: str, older: str, newer: str) -> ChangeMap:
    """Lay the newer shot on the older art, straight, and map the changes."""
    before, _ = shrunk(draw_revision(item, older), 2000)
    art = draw_revision(item, newer)
    photo, _ = shrunk(shoot(art, SHOTS[item, newer]), 2000)
    found = register(photo, before)
    assert found.matrix is not None, found.reason
    _check_lay(item, newer, art, photo, before, found.matrix)
    laid, mask = seen_from(photo, found.matrix, (before.shape[1], before.shape[0]))
    return change_map(before, laid, mask=mask)


def _check_lay(
    item: str, newer: str, art: Picture, photo: Picture, before: Picture, matrix: Matrix
) -> None:
    high, wide = art.shape[:2]
    there, shot_wide, _ = landing(SHOTS[item, newer], wide, high)
    k = photo.shape[1] / shot_wide
    corners = np.array([[0, 0, 1], [wide, 0, 1], [wide, high, 1], [0, high, 1]]).T
    at = there @ corners
    at = matrix @ np.vstack([at[:2] / at[2] * k, np.ones(4)])
    at = at[:2] / at[2]
    goal = corners[:2] * [[before.shape[1] / wide], [before.shape[0] / high]]
    off = np.hypot(*(at - goal)).max() / np.hypot(*before.shape[:2])
    assert off < 1e-3


def meets(region: Box, box: Box) -> float:
    """Give how much of the smaller of two boxes lies in the other."""
    wide = min(region[0] + region[2], box[0] + box[2]) - max(region[0], box[0])
    high = min(region[1] + region[3], box[1] + box[3]) - max(region[1], box[1])
    if wide <= 0 or high <= 0:
        return 0.0
    return wide * high / min(region[2] * region[3], box[2] * box[3])


@pytest.mark.slow
@pytest.mark.parametrize(("item", "older", "newer"), TRUE)
def test_true_differences_are_found(item: str, older: str, newer: str) -> None:
    found = compared(item, older, newer).regions
    boxes = [(r.x, r.y, r.w, r.h) for r in found]
    for box in TRUE[item, older, newer]:
        assert any(meets(region, box) > 0.5 for region in boxes), box
    if newer == "fa2":
        assert len(found) == len(TRUE[item, older, newer])
