"""A backup comes back the same, or is refused with a sentence; nothing in between."""

import hashlib
import io
import os
import shutil
import sqlite3
import subprocess
import sys
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

from board.management.running import archive
from board.management.running.environment import CHECKOUT

ORIGINAL = b"every byte of a scan" * 1000
SHA256 = hashlib.sha256(ORIGINAL).hexdigest()
FILL = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from accounts.actions import sign_in_link
from board.daybook.actions import Page, enter
from board.daybook.rules import Happened
from tests import make
editor = make.person(name="The Editor")
book = make.book(title="Pell")
make.credit(on=book, who=editor, role="editor")
item = book.items.get(label="8-9")
make.at(item, "sketch", "hung")
sign_in_link(editor)
enter(list(Happened)[0], Page(book.key, item.key))
enter(list(Happened)[1], Page(book.key, item.key))
"""
Members = dict[str, bytes]


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    source = tmp_path / "source"
    source.mkdir()
    (source / "record").write_bytes(b"the record")
    (source / "scan").write_bytes(ORIGINAL)
    files = {
        "board.sqlite3": source / "record",
        f"originals/{SHA256}": source / "scan",
        "pictures/gone": source / "went away meanwhile",
    }
    archive.write(tmp_path / "board.tar", files, {"daybook": {}})
    return tmp_path / "board.tar"


def rewritten(backup: Path, change: Callable[[Members], object]) -> Path:
    """The same tar with its members changed, its manifest left as it was."""
    with tarfile.open(backup) as tar:
        members = {m.name: (tar.extractfile(m) or io.BytesIO()).read() for m in tar}
    change(members)
    with tarfile.open(backup, "w") as tar:
        for name, text in members.items():
            member = tarfile.TarInfo(name)
            member.size = len(text)
            tar.addfile(member, io.BytesIO(text))
    return backup


def test_a_backup_unpacks_to_the_same_bytes(backup: Path, tmp_path: Path) -> None:
    archive.unpack(backup, tmp_path / "back")
    assert (tmp_path / "back" / "originals" / SHA256).read_bytes() == ORIGINAL
    assert (tmp_path / "back" / "board.sqlite3").read_bytes() == b"the record"


def test_only_its_owner_can_read_a_backup(backup: Path) -> None:
    assert backup.stat().st_mode & 0o077 == 0


def test_no_unfinished_backup_is_left_behind(backup: Path) -> None:
    assert [path.name for path in backup.parent.glob("*.part")] == []


@pytest.mark.parametrize(
    "change",
    [
        lambda members: members.update({"board.sqlite3": b"another record"}),
        lambda members: members.pop(f"originals/{SHA256}"),
        lambda members: members.update({"originals/more": b"slipped in"}),
        lambda members: members.update({"../outside": b"slipped out"}),
        lambda members: members.update({"secret.txt": b"a known secret"}),
    ],
    ids=["changed", "taken out", "slipped in", "outside", "secret"],
)
def test_a_backup_that_was_changed_is_refused(
    backup: Path, tmp_path: Path, change: Callable[[Members], object]
) -> None:
    rewritten(backup, change)
    with pytest.raises(archive.BackupDamaged, match="damaged or was changed"):
        archive.unpack(backup, tmp_path / "back")
    assert not (tmp_path / "outside").exists()


def test_a_manifest_naming_a_place_outside_is_refused(
    backup: Path, tmp_path: Path
) -> None:
    outside = hashlib.sha256(b"x").hexdigest()

    def change(members: Members) -> None:
        members["originals/../../outside"] = b"x"
        members[archive.MANIFEST] = archive.Manifest(
            {}, {"originals/../../outside": outside}
        ).text()
        for name in list(members):
            if name not in {"originals/../../outside", archive.MANIFEST}:
                del members[name]

    rewritten(backup, change)
    with pytest.raises(archive.BackupDamaged, match="does not belong"):
        archive.unpack(backup, tmp_path / "back")


@pytest.mark.parametrize("kept", [10, 5000, 20000])
def test_a_backup_cut_short_is_refused(backup: Path, tmp_path: Path, kept: int) -> None:
    backup.write_bytes(backup.read_bytes()[:kept])
    with pytest.raises(archive.BackupDamaged):
        archive.unpack(backup, tmp_path / "back")


def manage(folder: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    hidden = {name for name in os.environ if name.startswith(("BOARD_", "DJANGO_"))}
    env = {name: value for name, value in os.environ.items() if name not in hidden}
    return subprocess.run(
        [sys.executable, "manage.py", *words, "--folder", str(folder)],
        cwd=CHECKOUT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled") / "board"
    (folder / "originals").mkdir(parents=True)
    (folder / "originals" / SHA256).write_bytes(ORIGINAL)
    (folder / "secret.txt").write_text("a secret of this one board" * 2)
    env = {
        **os.environ,
        "BOARD_FOLDER": str(folder),
        "BOARD_DATABASE_URL": "",
        "BOARD_TEST_DATABASE_URL": "",
        "DJANGO_SETTINGS_MODULE": "tests.settings",
    }
    for name in ("BOARD_DATABASE_URL", "BOARD_TEST_DATABASE_URL"):
        del env[name]
    words = [sys.executable, "-c", FILL]
    subprocess.run(words, cwd=CHECKOUT, env=env, check=True)
    return folder


@pytest.fixture
def board(filled: Path, tmp_path: Path) -> Path:
    return shutil.copytree(filled, tmp_path / "board")


def test_standing_and_daybook_are_the_same_after_a_restore(
    board: Path, tmp_path: Path
) -> None:
    out, back = tmp_path / "out.tar", tmp_path / "back"
    written = manage(board, "backup", str(out))
    assert written.returncode == 0, written.stderr
    assert written.stderr == ""
    number = written.stdout.split("Its number: ")[1].split()[0]

    wrong = manage(back, "restore", str(out), "--number", "0" * 64)
    assert wrong.returncode != 0
    assert "not the backup with that number" in wrong.stderr
    assert not back.exists()

    done = manage(back, "restore", str(out), "--number", number)
    assert done.returncode == 0, done.stderr
    assert "the same daybook, standings and rows" in done.stdout
    assert (back / "originals" / SHA256).read_bytes() == ORIGINAL
    assert (back / "secret.txt").read_text() != (board / "secret.txt").read_text()

    with sqlite3.connect(back / "board.sqlite3") as line:
        ways_in = line.execute("SELECT count(*) FROM accounts_signinlink").fetchone()
    line.close()
    assert ways_in == (0,)

    again = manage(back, "restore", str(out))
    assert again.returncode != 0
    assert "is not empty" in again.stderr

    twice = manage(back, "backup", str(tmp_path / "twice.tar"))
    assert twice.returncode == 0, twice.stderr
    before, _ = archive.read_manifest(out)
    after, _ = archive.read_manifest(tmp_path / "twice.tar")
    assert before.facts == after.facts
    assert "hung" in before.facts["standing"].values()
    assert next(iter(before.facts["daybook"].values()))[0] == 2


def test_an_original_that_changed_on_the_disk_is_named(
    board: Path, tmp_path: Path
) -> None:
    (board / "originals" / SHA256).write_bytes(ORIGINAL + b"!")
    written = manage(board, "backup", str(tmp_path / "out.tar"))
    assert f"{SHA256} has changed on the disk" in written.stderr
