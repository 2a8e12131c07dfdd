"""One file held against trim, fold, boxes and press from the command line."""

import io
import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from django.core.management import CommandError, call_command
from PIL import Image, ImageCms

from board.repro.profiles import COATED, INTENT, STAND_IN
from tests.revisions.pictures import spread

SIZE = (
    1260,
    645,
)  # 300 ppi on a bled spread of 50 mm pages: (100 + 6.35) x (48.26 + 6.35)


def checked(path: Path, **options: Any) -> dict[str, Any]:
    out = io.StringIO()
    told = {"trim": "50.165x48.26", "json": True, "ppi": "300,200"} | options
    call_command("check_picture", str(path), stdout=out, **told)
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def of(told: dict[str, Any], name: str) -> dict[str, Any]:
    return next(one for one in told["checks"] if one["check"] == name)


def art(size: tuple[int, int] = SIZE) -> np.ndarray:
    return np.array(np.minimum(spread(5, size), 225), np.uint8)


def kept(picture: np.ndarray, path: Path) -> Path:
    Image.fromarray(picture).save(path)
    return path


@pytest.mark.parametrize(("ppi", "level"), [(290, "warn"), (301, "clear")])
def test_290_ppi_warns_and_301_is_clear(ppi: int, level: str, tmp_path: Path) -> None:
    size = tuple(round(mm / 25.4 * ppi) for mm in (106.68, 54.61))
    told = checked(kept(art((size[0], size[1])), tmp_path / "art.png"))
    assert of(told, "resolution")["level"] == level
    assert of(told, "resolution")["figure"] == f"{ppi} ppi"


@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
@pytest.mark.parametrize("mm", [0.5, 2.0])
def test_a_planted_white_strip_is_told_by_edge_and_depth(
    edge: str, mm: float, tmp_path: Path
) -> None:
    picture, deep = art(), round(mm / 25.4 * 300)
    part = {
        "left": (slice(None), slice(0, deep)),
        "right": (slice(None), slice(-deep, None)),
        "top": (slice(0, deep),),
        "bottom": (slice(-deep, None),),
    }[edge]
    picture[part] = 253
    found = of(checked(kept(picture, tmp_path / "art.png")), "bleed")
    assert found["level"] == "stop"
    assert found["figure"].startswith(f"{edge} edge")
    assert float(found["figure"].split()[2]) == pytest.approx(mm, abs=0.15)
    assert of(checked(tmp_path / "art.png", stage="sketch"), "bleed")["level"] == "warn"


def test_half_a_millimetre_is_seen_after_a_turned_and_keystoned_shot(
    tmp_path: Path,
) -> None:
    first = kept(art(), tmp_path / "first.png")
    picture = art()
    picture[:, -6:] = 253
    ends = np.array([[0, 0], [1260, 0], [1260, 645], [0, 645]], np.float32)
    shown = np.array([[52, 61], [1312, 44], [1318, 688], [47, 707]], np.float32)
    onto = cv2.getPerspectiveTransform(ends, shown)
    shot = cv2.warpPerspective(
        picture, onto, (1370, 760), flags=cv2.INTER_AREA, borderValue=(138, 138, 134)
    )
    told = checked(kept(shot, tmp_path / "shot.png"), on=first)
    assert told["laid"] == "registered"
    found = of(told, "bleed")
    assert found["figure"].startswith("right edge, 0.")
    assert float(found["figure"].split()[2]) == pytest.approx(0.5, abs=0.2)
    assert "," not in found["figure"].partition(", ")[2]


def by_lcms(colours: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Alarm and ink in per cent of colours (n, 3), asked of Pillow's lcms directly."""
    screen = ImageCms.createProfile("sRGB")
    press = ImageCms.ImageCmsProfile(str(COATED))
    proof = ImageCms.Flags.SOFTPROOFING
    shown = []
    flat = Image.fromarray(colours[None])
    for flags in (proof, proof | ImageCms.Flags.GAMUTCHECK):
        through = ImageCms.buildProofTransform(
            screen, screen, press, "RGB", "RGB", INTENT, INTENT, flags
        )
        shown.append(np.asarray(ImageCms.applyTransform(flat, through))[0])
    apart = ImageCms.buildTransform(screen, press, "RGB", "CMYK", INTENT)
    inks = np.asarray(ImageCms.applyTransform(flat, apart))[0].astype(float)
    return (shown[0] != shown[1]).any(axis=-1), inks.sum(axis=-1) / 2.55


def with_patch(colour: Any, path: Path, size: tuple[int, int]) -> Path:
    """A grey painting with a patch at a quarter of its width and half its height."""
    picture = 110 + art(size) // 4
    picture[...] = picture.mean(axis=2, keepdims=True)
    high, wide = picture.shape[:2]
    picture[high // 2 : high * 3 // 4, wide // 4 : wide * 3 // 8] = colour
    return kept(picture, path)


@pytest.mark.parametrize(
    ("hue", "size", "limits"),
    [
        pytest.param((0.75, 0.0, 1.0), SIZE, "300,200"),
        pytest.param((0.0, 0.6, 1.0), (840, 430), "200,150", marks=pytest.mark.slow),
        pytest.param((0.2, 0.9, 0.1), (2520, 1290), "600,300", marks=pytest.mark.slow),
    ],
)
def test_a_patch_just_out_of_gamut_is_found_and_one_just_in_is_not(
    hue: tuple[float, float, float], size: tuple[int, int], limits: str, tmp_path: Path
) -> None:
    # From grey to the pure hue in small steps: where lcms' alarm begins is the edge.
    steps = np.linspace(0, 1, 256)[:, None]
    ramp = (150 + steps * (np.array(hue) * 235 - 150)).round().astype(np.uint8)
    alarm, _ = by_lcms(ramp)
    edge = int(alarm.argmax())
    assert alarm[edge:].all()
    said = []
    # Laid pictures are kept as JPEG: a flat colour is off by a step of 255 at the most.
    for at in (edge - 4, edge + 4):
        path = with_patch(ramp[at], tmp_path / "art.png", size)
        said.append(of(checked(path, ppi=limits), "press gamut"))
    assert [one["level"] for one in said] == ["clear", "warn"]
    (place,) = said[1]["places"]
    wide, high = 106.68 / 100.33, 54.61 / 48.26
    assert place["x"] == pytest.approx(0.5 + (0.25 - 0.5) * wide, abs=0.015)
    assert place["y"] == pytest.approx(0.5 + (0.5 - 0.5) * high, abs=0.025)
    assert place["width"] == pytest.approx(0.125 * wide, abs=0.02)


@pytest.mark.parametrize(("limit", "level"), [(290.0, "warn"), (305.0, "clear")])
def test_ink_over_the_limit_is_found_after_separation(
    limit: float, level: str, tmp_path: Path
) -> None:
    dark = np.array([4, 4, 6], np.uint8)
    _, inks = by_lcms(dark[None])
    assert 290 < inks[0] < 305
    told = checked(with_patch(dark, tmp_path / "art.png", SIZE), ink_limit=limit)
    found = of(told, "total ink")
    assert found["level"] == level
    assert float(found["figure"].split()[0]) == pytest.approx(inks[0], abs=3)
    assert told["press"] == STAND_IN


def test_boxes_are_held_against_fold_and_contrast(tmp_path: Path) -> None:
    picture = art()
    picture[100:300, 200:500] = 40
    boxes = [
        {"sort": "focal", "label": "a face", "x": 0.47, "y": 0.3, "width": 0.1,
         "height": 0.2},
        {"sort": "type", "label": "the words", "x": 0.1, "y": 0.1, "width": 0.35,
         "height": 0.4},
    ]  # fmt: skip
    (tmp_path / "boxes.json").write_text(json.dumps(boxes))
    told = checked(kept(picture, tmp_path / "art.png"), boxes=tmp_path / "boxes.json")
    assert "a face" in of(told, "gutter")["says"]
    assert of(told, "type contrast")["level"] == "warn"
    assert float(of(told, "type contrast")["figure"].split()[0]) < 2


def test_a_box_outside_the_sheet_is_said_to_lie_there(tmp_path: Path) -> None:
    boxes = [{"sort": "type", "x": 1.4, "y": 0.1, "width": 0.2, "height": 0.2}]
    (tmp_path / "boxes.json").write_text(json.dumps(boxes))
    told = checked(kept(art(), tmp_path / "art.png"), boxes=tmp_path / "boxes.json")
    assert of(told, "type contrast")["level"] == "not known"
    assert "outside the picture" in of(told, "type contrast")["says"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"trim": "0x254"}, "Without a trim"),
        ({"trim": ""}, "--trim 254x254"),
        ({"trim": "254"}, "write it like 254x254"),
        ({"trim": "nanx254"}, "write it like 254x254"),
        ({"trim": "9999x254"}, "at most 3000 mm"),
        ({"ppi": "300,nan"}, "write it like 254,254"),
        ({"ink_limit": 900.0}, "between 100 and 400 per cent"),
        ({"bleed": -3.0}, "--bleed lies between 0 and 50 mm"),
        ({"gutter": 900.0}, "--gutter lies between 0 and 100 mm"),
        ({"profile": Path("none.icc")}, "There is no file none.icc"),
        ({"boxes": Path("nan.json")}, "nan is no length"),
        ({"corners": "0,0 1,0 1,1"}, "four corners"),
        ({"boxes": Path("broken.json")}, "no list of boxes"),
        ({"profile": Path("broken.json")}, "no colour profile that can be used"),
        ({"lies": "trimmed", "trim": "50x90"}, "its shape differs"),
    ],
)
def test_what_cannot_be_checked_is_told_with_the_way_on(
    options: dict[str, Any], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("broken.json").write_text("{" + " " * 200)
    Path("nan.json").write_text(
        '[{"sort": "type", "x": NaN, "y": 0, "width": 1, "height": 1}]'
    )
    with pytest.raises(CommandError, match=says):
        checked(kept(art(), tmp_path / "art.png"), **options)
