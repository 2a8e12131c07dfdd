"""Separation, proof and gamut against lcms' own tools and published tables.

Profiles and tools come from Debian: `libgs-common` (default_cmyk.icc), `scribus-data`
(ISOcoated_v2_300_bas.icc, zlib licence), `liblcms2-utils` (transicc, tificc). What is
not there is skipped by name.
"""

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from board.errors import NotUnderstood, TooLarge
from board.repro.profiles import MOST_BYTES, Press, require_header, stand_in

FOLDERS = (
    Path("/usr/share/color/icc/ghostscript"),
    Path("/usr/share/scribus/profiles"),
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


@pytest.fixture(params=["ISOcoated_v2_300_bas.icc", "default_cmyk.icc"])
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


def test_the_profiles_own_table_is_fogra39() -> None:
    """Solids by table: C 55 -37 -50, M 48 74 -3, Y 89 -5 93 (ISO 12647-2:2004/Amd 1)."""
    found = profile("ISOcoated_v2_300_bas.icc")
    typed = "100\n0\n0\n0\n0\n100\n0\n0\n0\n0\n100\n0\n"
    run = subprocess.run(
        [tool("transicc"), "-q", "-v0", f"-i{found}", "-o*Lab", "-t3", "-c0"],
        input=typed,
        capture_output=True,
        text=True,
        check=True,
        timeout=20,
    )
    numbers = [
        float(w)
        for w in run.stdout.split()
        if w.replace(".", "").replace("-", "").isdigit()
    ]
    table = np.array([[55, -37, -50], [48, 74, -3], [89, -5, 93]])
    assert np.abs(np.array(numbers).reshape(-1, 3) - table).max() <= 1


def test_ink_stays_within_the_profiles_own_limit(path: Path) -> None:
    steps = np.linspace(0, 255, 18).round().astype(np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    most = float(Press(path.read_bytes()).try_out(cube).ink.max())
    # 300.4 and 298.8 over a finer cube, half a per cent for 8-bit rounding.
    assert most <= 301


def test_a_patch_just_in_and_one_just_out_of_gamut_are_told_apart() -> None:
    press = Press(profile("ISOcoated_v2_300_bas.icc").read_bytes())
    ramp = np.array([[235, 90 - step, 140] for step in range(0, 91, 2)], np.uint8)
    out = press.out_of_gamut(ramp) > 0
    assert not out[0]
    assert out[-1]
    turn = int(out.argmax())
    picture = np.zeros((40, 80, 3), np.uint8) + 200
    picture[:, :40], picture[:, 40:] = ramp[turn - 1], ramp[turn]
    _, flagged, _, _ = press.try_picture(picture)
    assert not flagged[:, :40].any()
    assert flagged[:, 40:].all()


def test_the_stand_in_is_a_press_profile() -> None:
    press = Press(stand_in())
    inks = press.try_out(np.array([[255, 255, 255], [0, 255, 0]], np.uint8))
    assert inks.ink[0] == 0
    assert inks.out.tolist() == [0, 1]


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
