"""What has its final name is whole, whatever was killed and whenever."""

import os
import signal
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from board.errors import DiskNearlyFull, NotFound
from board.repro import store
from tests.repro.pictures import put

ROOT = Path(__file__).parents[2]


def named(body: bytes) -> str:
    return sha256(body).hexdigest()


def test_an_original_lies_under_its_checksum_byte_for_byte(
    own_folder: Path, tmp_path: Path
) -> None:
    source = put(tmp_path, "a.bin", b"picture")
    kept = store.keep_original(source, named(b"picture"))
    assert kept == own_folder / "originals" / named(b"picture")[:2] / named(b"picture")
    assert kept.read_bytes() == b"picture"
    assert not source.exists()
    assert not kept.stat().st_mode & 0o222  # nobody writes to it by mistake


def test_keeping_the_same_file_again_changes_nothing(
    own_folder: Path, tmp_path: Path
) -> None:
    for _ in range(2):
        kept = store.keep_original(put(tmp_path, "a.bin", b"x"), named(b"x"))
    assert store.keep_original(tmp_path / "a.bin", named(b"x")) == kept
    assert store.copy_original(put(tmp_path, "b.bin", b"x")) == (kept, named(b"x"))
    assert (tmp_path / "b.bin").exists()
    with pytest.raises(NotFound):
        store.keep_original(tmp_path / "gone", named(b"y"))
    store.drop_original(named(b"x"))
    store.drop_original(named(b"x"))
    assert not kept.exists()


@pytest.mark.parametrize(
    "key",
    [
        "",
        "..",
        "../../etc",
        "a/b",
        "short",
        "a" * 81,
        "with space",
        "nul\0nul",
        "é" * 8,
    ],
)
def test_no_key_leads_out_of_the_folder(own_folder: Path, key: str) -> None:
    """OWASP ASVS 5.0.0 requirement 5.3.2: the board's own names only."""
    for place in (store.picture_folder, store.part_path, store.original_path):
        with pytest.raises(NotFound):
            place(key)


def test_a_file_appears_whole_or_not_at_all(own_folder: Path) -> None:
    target = own_folder / "deep" / "a.txt"
    with store.whole_file(target) as fresh:
        fresh.write_text("half")
        assert not target.exists()
    with pytest.raises(IsADirectoryError), store.whole_file(target) as fresh:
        (own_folder / "deep").write_text("fails")
    assert target.read_text() == "half"
    assert [path.name for path in target.parent.iterdir()] == ["a.txt"]


def test_a_picture_folder_is_replaced_as_a_whole(own_folder: Path) -> None:
    for round_ in ("one", "two"):
        with store.new_picture("picture-2") as fresh:
            (fresh / round_).write_text(round_)
    with pytest.raises(IsADirectoryError), store.new_picture("picture-2") as fresh:
        fresh.write_text("fails")
    folder = store.picture_folder("picture-2")
    assert [path.name for path in folder.iterdir()] == ["two"]
    assert [path.name for path in folder.parent.iterdir()] == ["picture-2"]
    store.drop_picture("picture-2")
    store.drop_picture("picture-2")
    assert not folder.exists()


KEEPER = """
import os, sys, django
from pathlib import Path
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
os.environ["BOARD_FOLDER"] = sys.argv[1]
django.setup()
from board.repro import store
number = int(sys.argv[2])
print("go", flush=True)
while True:
    number += 1
    source = Path(sys.argv[1]) / f"source-{os.getpid()}"
    source.write_bytes(number.to_bytes(8, "big") * 200_000)
    store.copy_original(source)
    with store.new_picture(f"picture-{number % 3}") as fresh:
        for name in "ab":
            (fresh / name).write_bytes(number.to_bytes(8, "big") * 50_000)
"""


def test_nothing_half_written_has_a_final_name_after_kills(own_folder: Path) -> None:
    for round_ in range(4):
        command = [sys.executable, "-c", KEEPER, str(own_folder), str(round_ * 1000)]
        with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE) as child:
            assert child.stdout is not None
            child.stdout.readline()
            time.sleep(0.15 + 0.07 * round_)
            child.send_signal(signal.SIGKILL)
            child.wait(10)
    kept = [p for p in own_folder.glob("originals/*/*") if p.is_file()]
    assert kept
    for path in kept:
        assert store.checksum(path) == path.name
    for folder in own_folder.glob("pictures/*/picture-*"):
        bodies = [path.read_bytes() for path in sorted(folder.iterdir())]
        assert len(bodies) == 2
        assert bodies[0] == bodies[1]
        assert len(bodies[0]) == 400_000
    for left in own_folder.rglob(".tmp-*"):
        os.utime(left, (0, 0))
    store.sweep()
    assert not list(own_folder.rglob(".tmp-*"))


def test_the_disk_is_low_when_the_reserve_would_be_touched(
    own_folder: Path, settings: Any
) -> None:
    free = store.free_bytes()
    settings.BOARD_DISK_RESERVE = free // 2
    assert not store.disk_is_low()
    assert store.disk_is_low(free)
    with pytest.raises(DiskNearlyFull):
        store.require_room(free)
