"""Separation, proof and gamut against lcms' own tools and published tables.

Profiles and tools come from Debian: `libgs-common` (default_cmyk.icc), `scribus-data`
(ISOcoated_v2_300_bas.icc, zlib licence), `liblcms2-utils` (transicc, tificc). What is
not there is skipped by name.
"""

import os
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from board.errors import NotUnderstood, TooLarge
from board.imaging.difference import delta_e_2000
from board.imaging.press import every_colour
from board.repro.profiles import COATED, MOST_BYTES, Press, require_header

FOLDERS = (
    Path("/usr/share/color/icc/ghostscript"),
    Path("/usr/share/scribus/profiles"),
    COATED.parent,
    *(
        Path(part)
        for part in os.environ.get("BOARD_TEST_PROFILES", "").split(":")
        if part
    ),
)
COLOURS = np.array(
    [
        [255, 0, 0], [0, 255, 0], [0, 0, 255], [0, 255, 255], [255, 0, 255],
        [255, 255, 0], [0, 0, 0], [30, 144, 255], [255, 255, 255], [128, 128, 128],
        [200, 150, 120], [40, 90, 60], [240, 200, 180], [120, 60, 30],
    ],
    np.uint8,
)  # fmt: skip


def profile(name: str) -> Path:
    for folder in FOLDERS:
        if (folder / name).is_file():
            return folder / name
    pytest.skip(f"{name} is not on this machine")


def tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} (Debian liblcms2-utils) is not on this machine")
    return found


@pytest.fixture(params=["ISOcoated_v2_300_bas.icc", "default_cmyk.icc", COATED.name])
def path(request: pytest.FixtureRequest) -> Path:
    return profile(request.param)


def test_separation_is_that_of_transicc(path: Path) -> None:
    typed = "\n".join(str(value) for colour in COLOURS for value in colour)
    run = subprocess.run(
        [tool("transicc"), "-v0", "-i*sRGB", f"-o{path}", "-t1"],
        input=typed + "\n",
        capture_output=True,
        text=True,
        check=True,
        timeout=20,
    )
    told = np.array([float(word) for word in run.stdout.split()])
    ours = Press(path.read_bytes()).separate(COLOURS) / 2.55
    # 8 bits a channel give half a per cent; transicc counts in floats.
    assert np.abs(ours - told.reshape(-1, 4)).max() <= 0.4


def through_tificc(path: Path, tmp_path: Path, *more: str) -> np.ndarray:
    sent, got = tmp_path / "sent.tif", tmp_path / "got.tif"
    Image.fromarray(COLOURS[None]).save(sent)
    subprocess.run(
        [tool("tificc"), "-i*sRGB", "-o*sRGB", f"-p{path}", "-m1", "-t1", *more,
         str(sent), str(got)],
        capture_output=True,
        check=True,
        timeout=20,
    )  # fmt: skip
    return np.asarray(np.asarray(Image.open(got))[0])


def test_the_soft_proof_is_that_of_tificc(path: Path, tmp_path: Path) -> None:
    ours = Press(path.read_bytes()).proof(COLOURS).astype(int)
    assert np.abs(ours - through_tificc(path, tmp_path)).max() <= 1


def test_the_gamut_alarm_is_that_of_tificc(path: Path, tmp_path: Path) -> None:
    alarmed = through_tificc(path, tmp_path, "-g")
    plain = through_tificc(path, tmp_path)
    ours = Press(path.read_bytes()).out_of_gamut(COLOURS) > 0
    assert ours.tolist() == (alarmed != plain).any(axis=-1).tolist()


def test_the_offset_profile_gives_the_known_values() -> None:
    press = Press(profile("ISOcoated_v2_300_bas.icc").read_bytes())
    # Measured with lcms 2.14 and 2.17 (see the module): relative colorimetric.
    known = {
        (255, 0, 0): (230, 57, 37),
        (0, 255, 0): (136, 190, 58),
        (0, 0, 255): (33, 76, 154),
        (255, 255, 0): (255, 237, 0),
        (0, 0, 0): (33, 34, 33),
        (200, 150, 120): (200, 150, 120),
    }
    proof = press.proof(np.array(list(known), np.uint8)).astype(int)
    assert np.abs(proof - np.array(list(known.values()))).max() <= 1
    inks = press.separate(np.array([[255, 0, 0], [128, 128, 128]], np.uint8)) / 2.55
    told = [[0, 90.73, 100, 0], [49.34, 39.66, 39.22, 21.71]]
    assert np.abs(inks - np.array(told)).max() <= 0.4


FOGRA39 = {  # C, M, Y, K in per cent: L*, a*, b*
    (0, 0, 0, 0): (95.00, 0.00, -2.00),
    (100, 0, 0, 0): (55.00, -37.00, -50.00),
    (0, 100, 0, 0): (48.00, 74.00, -3.00),
    (0, 0, 100, 0): (89.00, -5.00, 93.00),
    (0, 0, 0, 100): (16.00, 0.00, 0.00),
    (0, 100, 100, 0): (47.00, 68.00, 48.00),
    (100, 0, 100, 0): (50.00, -65.00, 27.00),
    (100, 100, 0, 0): (24.00, 22.00, -46.00),
}


@pytest.mark.parametrize("name", ["ISOcoated_v2_300_bas.icc", COATED.name])
def test_the_profiles_own_table_is_fogra39(name: str) -> None:
    """Paper, solids and overprints as ISO 12647-2:2004/Amd 1 has them.

    The figures are those of FOGRA39L.ti3 in Debian's icc-profiles-free.
    """
    typed = "\n".join(str(ink) for inks in FOGRA39 for ink in inks) + "\n"
    run = subprocess.run(
        [tool("transicc"), "-q", "-v0", f"-i{profile(name)}", "-o*Lab", "-t3", "-c0"],
        input=typed,
        capture_output=True,
        text=True,
        check=True,
        timeout=20,
    )
    numbers = [float(word) for word in re.findall(r"-?\d+\.\d+", run.stdout)]
    told = np.array(numbers, np.float32).reshape(-1, 3)
    table = np.array(list(FOGRA39.values()), np.float32)
    assert float(delta_e_2000(told, table).max()) <= 1.0


def test_ink_stays_within_the_profiles_own_limit(path: Path) -> None:
    steps = np.linspace(0, 255, 18).round().astype(np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    most = float(Press(path.read_bytes()).try_out(cube).ink.max())
    # 300.4 and 298.8 over a finer cube, half a per cent for 8-bit rounding.
    assert most <= 301


def test_a_patch_just_in_and_one_just_out_of_gamut_are_told_apart(path: Path) -> None:
    press = Press(path.read_bytes())
    ramp = np.array([[235, 90 - step, 140] for step in range(0, 91, 2)], np.uint8)
    out = press.out_of_gamut(ramp) > 0
    assert not out[0]
    assert out[-1]
    turn = int(out.argmax())
    picture = np.zeros((40, 80, 3), np.uint8) + 200
    picture[:, :40], picture[:, 40:] = ramp[turn - 1], ramp[turn]
    colours = every_colour(picture)
    flagged = colours.spread(press.try_out(colours.colours).out)
    assert not flagged[:, :40].any()
    assert flagged[:, 40:].all()


def test_the_profile_that_came_with_the_board_alarms_what_coated_offset_cannot_print() -> (
    None
):
    """The same colours as lcms' alarm gives for ISOcoated_v2_300_bas.icc."""
    inks = Press(COATED.read_bytes()).try_out(COLOURS)
    assert inks.out.tolist() == [1.0] * 8 + [0.0] * 6
    assert inks.ink[COLOURS.tolist().index([255, 255, 255])] == 0


def header(space: bytes = b"CMYK", kind: bytes = b"prtr", size: int = 200) -> bytes:
    body = bytearray(size)
    body[:4] = size.to_bytes(4, "big")
    body[12:16], body[16:20], body[36:40] = kind, space, b"acsp"
    return bytes(body)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"\x89PNG" + bytes(300), "another kind of file"),
        (header(b"RGB "), "screens or cameras"),
        (header(b"GRAY"), "grey"),
        (header(kind=b"scnr"), "not the profile of an output"),
        (header()[:150], "breaks off"),
        (b"", "another kind of file"),
    ],
)
def test_what_is_no_press_profile_is_told_why(body: bytes, says: str) -> None:
    with pytest.raises(NotUnderstood, match=says):
        require_header(body)


def test_a_huge_profile_is_refused_before_it_is_opened() -> None:
    with pytest.raises(TooLarge, match="up to 8 MB"):
        require_header(bytes(MOST_BYTES + 1))


def test_a_profile_with_a_sound_header_and_no_tables_is_refused() -> None:
    with pytest.raises(NotUnderstood, match="damaged"):
        Press(header())
