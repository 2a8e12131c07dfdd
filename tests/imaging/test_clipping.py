"""A torn piece of a picture pasted into another is found; what is not there is not.

The pictures are scikit-image's own samples (in its wheel), torn, turned, scaled, tinted,
noised and saved as JPEG with known truth.
"""

import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from django.core.management import call_command
from skimage import data

from board.imaging.clipping import find_clipping

Picture = np.ndarray[Any, np.dtype[np.uint8]]
Box = tuple[float, float, float, float]
WIDE, HIGH = 1600, 800
PIECES = (
    "immunohistochemistry",
    "chelsea",
    "coffee",
    "page",
    "gravel",
    "coins",
    "text",
)


def sample(name: str) -> Picture:
    picture = getattr(data, name)()
    if picture.ndim == 2:
        picture = cv2.cvtColor(picture, cv2.COLOR_GRAY2RGB)
    return np.ascontiguousarray(picture[..., :3]).astype(np.uint8)


def pasted(clipping: Picture, base: Picture, seed: int) -> tuple[Picture, Box]:
    """The art with a torn, turned piece of the clipping, and the box it lies in."""
    rng = np.random.default_rng(seed)
    art = cv2.bilateralFilter(cv2.resize(base, (WIDE, HIGH)), 9, 40, 9)
    high, wide = clipping.shape[:2]
    middle = (wide / 2, high / 2)
    torn = np.zeros((high, wide), np.uint8)
    edge = [
        (
            middle[0] + rng.uniform(0.5, 0.65) * middle[0] * np.cos(turn),
            middle[1] + rng.uniform(0.5, 0.65) * middle[1] * np.sin(turn),
        )
        for turn in np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ]
    cv2.fillPoly(torn, [np.array(edge, np.int32)], (255,))
    scale = 330 / max(high, wide) * 1.6
    matrix = cv2.getRotationMatrix2D(middle, rng.uniform(0, 360), scale)
    matrix[:, 2] += np.array([700, 400]) - middle
    laid = cv2.warpAffine(clipping, matrix, (WIDE, HIGH), flags=cv2.INTER_AREA)
    there = cv2.warpAffine(torn, matrix, (WIDE, HIGH)) > 127
    art[there] = laid[there]
    tinted = art * np.array([1, 0.97, 0.92]) + rng.normal(0, 3, art.shape)
    _, saved = cv2.imencode(".jpg", np.clip(tinted, 0, 255), [1, 85])
    out = np.asarray(cv2.imdecode(saved, cv2.IMREAD_COLOR), dtype=np.uint8)
    rows, columns = np.nonzero(there)
    return out, (
        columns.min() / WIDE,
        rows.min() / HIGH,
        np.ptp(columns) / WIDE,
        np.ptp(rows) / HIGH,
    )


def shared(one: Box, other: Box) -> float:
    """Intersection over union of two boxes."""
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    both = max(across, 0) * max(down, 0)
    return both / (one[2] * one[3] + other[2] * other[3] - both)


@pytest.mark.parametrize("name", PIECES)
def test_a_torn_piece_is_found_where_it_was_pasted(name: str) -> None:
    art, true = pasted(sample(name), sample("rocket"), seed=3)
    found = find_clipping(sample(name), art)
    assert found.found
    assert found.box is not None
    assert shared(found.box, true) > 0.5


@pytest.mark.parametrize(("piece", "other"), [("coffee", "chelsea"), ("page", "text")])
def test_a_clipping_that_is_not_there_is_not_found(piece: str, other: str) -> None:
    art, _ = pasted(sample(piece), sample("rocket"), seed=4)
    assert not find_clipping(sample(other), art).found


def test_its_matrix_takes_the_files_own_pixels_whatever_their_size() -> None:
    piece = cv2.resize(sample("coffee"), (1800, 1200), interpolation=cv2.INTER_CUBIC)
    art = cv2.resize(sample("gravel"), (2400, 1200), interpolation=cv2.INTER_CUBIC)
    truth = cv2.getRotationMatrix2D((900, 600), 30, 0.4)
    truth[:, 2] += (300, 0)
    laid = cv2.warpAffine(piece, truth, (2400, 1200), flags=cv2.INTER_AREA)
    there = cv2.warpAffine(np.ones((1200, 1800), np.uint8), truth, (2400, 1200)) > 0
    art[there] = laid[there]
    found = find_clipping(piece, art)
    assert found.found
    assert found.matrix is not None
    corners = np.array([[0, 0, 1], [1800, 0, 1], [1800, 1200, 1], [0, 1200, 1]]).T
    off = (found.matrix @ corners)[:2] - truth @ corners
    assert np.hypot(*off).max() < 12


@pytest.mark.parametrize("size", [(1, 1), (30, 900), (400, 400)])
def test_a_clipping_with_nothing_on_it_is_not_found(size: tuple[int, int]) -> None:
    blank = np.full((*size, 3), 200, np.uint8)
    assert not find_clipping(blank, sample("coffee")).found
    assert not find_clipping(sample("coffee"), blank).found


def test_the_command_writes_what_it_found(tmp_path: Path) -> None:
    art, _ = pasted(sample("coffee"), sample("rocket"), seed=5)
    for name, picture in (("art", art), ("clip", sample("coffee"))):
        rgb = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
        cv2.imwrite(str(tmp_path / f"{name}.png"), rgb)
    listed, out = tmp_path / "list.json", tmp_path / "out.json"
    pair = {"id": "a", "clipping": str(tmp_path / "clip.png")}
    lost = {"id": "b", "clipping": str(tmp_path / "none.png")}
    both = [one | {"art": str(tmp_path / "art.png")} for one in (pair, lost)]
    listed.write_text(json.dumps(both))
    call_command("find_clipping", pairs=listed, out=out)
    told = json.loads(out.read_text())["clips"]
    assert told["a"]["found"]
    assert len(told["a"]["bbox"]) == 4
    assert not told["b"]["found"]
    assert told["b"]["reason"]
