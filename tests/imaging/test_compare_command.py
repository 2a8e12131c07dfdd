"""`compare`: two files in, how they lie and what changed out."""

import json
from io import StringIO
from pathlib import Path

import cv2
import numpy as np
import pytest
from django.core.management import CommandError, call_command
from PIL import Image

from tests.imaging.pictures import furthest_off, pencilled, shot, spread, turned

MATRIX = turned(0.6, 1.02, (5, 3))


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    older = spread("coffee")
    newer = older.copy()
    newer[100:240, 200:380] = (50, 120, 80)
    before, after = tmp_path / "before.png", tmp_path / "after.jpg"
    cv2.imwrite(str(before), older[..., ::-1])
    cv2.imwrite(str(after), shot(newer, MATRIX)[..., ::-1])
    return str(before), str(after)


def said(*words: str) -> str:
    out = StringIO()
    call_command("compare", *words, stdout=out)
    return out.getvalue()


def test_it_says_how_sure_how_laid_and_what_changed(files: tuple[str, str]) -> None:
    text = said(*files)
    assert text.startswith("Laid, confidence ")
    assert "\n  1. x 0." in text
    assert "2. x" not in text


def test_json_takes_after_pixels_to_before_pixels(files: tuple[str, str]) -> None:
    found = json.loads(said(*files, "--json"))
    assert found["registered"]
    assert furthest_off(np.array(found["matrix"]), MATRIX) < 4e-4
    x, y, w, h = found["changes"][0]["bbox"]
    assert np.allclose([x, y, w, h], [0.2, 0.2, 0.18, 0.28], atol=0.02)


def test_a_picture_of_the_comparison_is_drawn(
    files: tuple[str, str], tmp_path: Path
) -> None:
    out = tmp_path / "drawn.png"
    said(*files, "--picture", str(out))
    drawn = cv2.imread(str(out))
    assert drawn is not None
    assert drawn.shape[0] > 3 * 500


def test_across_manners_no_empty_map_says_that_nothing_changed(tmp_path: Path) -> None:
    art = spread("coffee")
    older, newer, out = (tmp_path / f"{name}.png" for name in ("old", "new", "out"))
    cv2.imwrite(str(older), pencilled(art))
    cv2.imwrite(str(newer), art[..., ::-1])
    text = said(str(older), str(newer), "--across-stages", "--picture", str(out))
    assert "only the plan" in text
    drawn = cv2.imread(str(out))
    assert drawn is not None
    assert 2 * 500 < drawn.shape[0] < 3 * 500


def test_many_pairs_are_compared_in_one_go(
    files: tuple[str, str], tmp_path: Path
) -> None:
    blank = tmp_path / "blank.png"
    cv2.imwrite(str(blank), np.full((300, 600, 3), 255, np.uint8))
    rows = [
        {"id": "one", "before": files[0], "after": files[1], "across_stages": False},
        {"id": "blank", "before": files[0], "after": str(blank)},
        {"id": "gone", "before": files[0], "after": str(tmp_path / "gone.png")},
    ]
    listed, result = tmp_path / "list.json", tmp_path / "result.json"
    listed.write_text(json.dumps(rows))
    said("--pairs", str(listed), "--out", str(result))
    pairs = json.loads(result.read_text())["pairs"]
    assert pairs["one"]["registered"]
    assert {"confidence", "error_bar_percent", "seconds"} <= set(pairs["one"])
    assert "blank" in pairs["blank"]["reason"]
    assert "matrix" not in pairs["blank"]
    assert pairs["gone"]["registered"] is False
    assert "cannot be read" in pairs["gone"]["reason"]


def _of_every_kind(folder: Path, art: np.ndarray) -> dict[str, Path]:
    """The same picture as grey, deep, with alpha, in inks, and as one pixel."""
    image = Image.fromarray(art)
    clear = image.copy()
    clear.putalpha(255)
    made = {
        "grey.png": image.convert("L"),
        "alpha.png": clear,
        "inks.tif": image.convert("CMYK"),
        "dot.png": image.resize((1, 1)),
    }
    for name, kind in made.items():
        kind.save(folder / name)
    cv2.imwrite(str(folder / "deep.png"), art[..., ::-1].astype(np.uint16) * 257)
    return {name: folder / name for name in (*made, "deep.png")}


def test_files_of_every_kind_have_a_stated_outcome(tmp_path: Path) -> None:
    art = spread("coffee")
    files = _of_every_kind(tmp_path, art)
    cv2.imwrite(str(tmp_path / "art.png"), art[..., ::-1])
    asked = [
        {"id": name, "before": str(tmp_path / "art.png"), "after": str(path)}
        for name, path in files.items()
    ]
    (tmp_path / "list.json").write_text(json.dumps(asked))
    said("--pairs", str(tmp_path / "list.json"), "--out", str(tmp_path / "out.json"))
    found = json.loads((tmp_path / "out.json").read_text())["pairs"]
    for name in ("grey.png", "alpha.png", "deep.png"):
        assert found[name]["registered"], name
        assert np.allclose(found[name]["matrix"], np.eye(3), atol=0.3), name
    assert not found["alpha.png"]["changes"]
    assert not found["deep.png"]["changes"]
    assert not found["dot.png"]["registered"]
    assert found["dot.png"]["reason"]
    inks = found["inks.tif"]
    assert inks["registered"] or inks["reason"]


def test_a_file_that_is_no_picture_is_refused_in_words(
    files: tuple[str, str], tmp_path: Path
) -> None:
    words = tmp_path / "words.png"
    words.write_text("not a picture")
    with pytest.raises(CommandError):
        said(files[0], str(words))
    with pytest.raises(CommandError, match="Name two pictures"):
        said(files[0])


@pytest.mark.parametrize("body", ["[", '{"id": 1}', '[{"id": "a", "before": "b"}]'])
def test_a_list_that_lacks_something_is_refused_in_words(
    tmp_path: Path, body: str
) -> None:
    listed = tmp_path / "list.json"
    listed.write_text(body)
    with pytest.raises(CommandError, match="list of pairs cannot be read"):
        said("--pairs", str(listed))
    with pytest.raises(CommandError, match="list of pairs cannot be read"):
        call_command("find_clipping", "--pairs", str(listed))
