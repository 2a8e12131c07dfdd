"""A backup as one tar file: members, and a manifest with the SHA-256 of each."""

import hashlib
import io
import json
import os
import re
import tarfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from board.errors import BoardError

FORMAT = "sheet-and-slip backup 1"
MANIFEST = "manifest.json"
LAWFUL = re.compile(
    r"board\.sqlite3|database\.pgdump|(originals|pictures)(/[\w-][\w.-]*)+", re.ASCII
)
BLOCK = 1024 * 1024


class BackupDamaged(BoardError):
    """A backup that is not, byte for byte, what was written."""


class Hashing:
    """A file read through, its SHA-256 and length kept as it goes by."""

    def __init__(self, file: IO[bytes]) -> None:
        self.file, self.digest, self.size = file, hashlib.sha256(), 0

    def read(self, size: int = -1) -> bytes:
        """Read on and count."""
        block = self.file.read(size)
        self.digest.update(block)
        self.size += len(block)
        return block


@dataclass(frozen=True)
class Manifest:
    """What a backup holds: facts about the record, and each member's checksum."""

    facts: Mapping[str, Any]
    members: Mapping[str, str]

    def text(self) -> bytes:
        """Give the manifest as it is written."""
        whole = {"format": FORMAT, "facts": self.facts, "members": self.members}
        return json.dumps(whole, indent=1, sort_keys=True).encode()


def write(out: Path, files: Mapping[str, Path], facts: Mapping[str, Any]) -> str:
    """Write a backup, read it back and check it; return the manifest's SHA-256."""
    unfinished = out.with_name(out.name + ".part")
    members: dict[str, str] = {}
    try:
        with open_privately(unfinished) as raw:
            with tarfile.open(fileobj=raw, mode="w", format=tarfile.PAX_FORMAT) as tar:
                for name, path in files.items():
                    _add(tar, name, path, members)
                _add_text(tar, Manifest(facts, members).text())
            raw.flush()
            os.fsync(raw.fileno())
        digest = check(unfinished)
        unfinished.replace(out)
    finally:
        unfinished.unlink(missing_ok=True)
    return digest


@contextmanager
def open_privately(path: Path) -> Iterator[IO[bytes]]:
    """Open a new file that only its owner can read."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as raw:
        yield raw


def _add(tar: tarfile.TarFile, name: str, path: Path, into: dict[str, str]) -> None:
    """Add one file; one that went away since it was listed is left out."""
    try:
        file = path.open("rb")
    except FileNotFoundError:
        return
    with file:
        member = tarfile.TarInfo(name)
        member.size = os.fstat(file.fileno()).st_size
        member.mode = 0o600
        passing = Hashing(file)
        tar.addfile(member, passing)
        into[name] = passing.digest.hexdigest()


def _add_text(tar: tarfile.TarFile, text: bytes) -> None:
    member = tarfile.TarInfo(MANIFEST)
    member.size, member.mode = len(text), 0o600
    tar.addfile(member, io.BytesIO(text))


def read_manifest(backup: Path) -> tuple[Manifest, str]:
    """Return the manifest of a backup and its SHA-256."""
    try:
        with tarfile.open(backup) as tar:
            file = tar.extractfile(MANIFEST)
            text = file.read() if file else b""
        whole = json.loads(text)
        if whole["format"] != FORMAT:
            raise BackupDamaged(f"{backup.name} is of a kind this board cannot read.")
        manifest = Manifest(whole["facts"], whole["members"])
    except (tarfile.TarError, KeyError, ValueError, TypeError) as problem:
        raise BackupDamaged(
            f"{backup.name} is no whole backup of a board: it has no manifest that "
            "can be read. Take another backup."
        ) from problem
    return manifest, hashlib.sha256(text).hexdigest()


def check(backup: Path) -> str:
    """Read a backup through and hold every member to the manifest."""

    def pass_by(_name: str, source: Hashing) -> None:
        while source.read(BLOCK):
            pass

    return read_through(backup, pass_by)


def unpack(backup: Path, folder: Path) -> str:
    """Write every member into the folder, each held to the manifest."""

    def keep(name: str, source: Hashing) -> None:
        path = folder / name
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open_privately(path) as out:
            while block := source.read(BLOCK):
                out.write(block)
            out.flush()
            os.fsync(out.fileno())

    return read_through(backup, keep)


def read_through(backup: Path, take: Callable[[str, Hashing], None]) -> str:
    """Give each member to `take`, then refuse the backup if anything is not right."""
    manifest, digest = read_manifest(backup)
    left = dict(manifest.members)
    try:
        with tarfile.open(backup) as tar:
            for member in tar:
                if member.name != MANIFEST:
                    _one(tar, member, left, take)
    except (tarfile.TarError, EOFError) as problem:
        raise _damaged(backup, "it ends too early") from problem
    except _NotTheSame as problem:
        raise _damaged(backup, str(problem)) from problem
    if left:
        raise _damaged(backup, f"{next(iter(left))} is missing")
    return digest


class _NotTheSame(Exception):
    """A member is not what the manifest says."""


def _one(
    tar: tarfile.TarFile,
    member: tarfile.TarInfo,
    left: dict[str, str],
    take: Callable[[str, Hashing], None],
) -> None:
    expected = left.pop(member.name, None)
    file = tar.extractfile(member) if member.isreg() else None
    if expected is None or file is None or not LAWFUL.fullmatch(member.name):
        raise _NotTheSame(f"{member.name} does not belong in it")
    passing = Hashing(file)
    take(member.name, passing)
    if passing.digest.hexdigest() != expected:
        raise _NotTheSame(f"{member.name} is not what was written")


def _damaged(backup: Path, why: str) -> BackupDamaged:
    return BackupDamaged(
        f"{backup.name} is damaged or was changed: {why}. Nothing was restored; take "
        "another backup."
    )
