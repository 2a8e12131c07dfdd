"""Where files lie: originals by their checksum, pictures and parts by their key.

Every name below the data folder is made here. A file gets its final name only when
all of it is on the disk, so a kill at any moment leaves whole files or `.tmp-` ones.
"""

import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import file_digest
from pathlib import Path

from django.conf import settings

from board.errors import DiskNearlyFull, NotFound

KEY = re.compile(r"[A-Za-z0-9_-]{6,80}")
CHECKSUM = re.compile(r"[0-9a-f]{64}")
PICTURE_FILE = re.compile(r"[a-z0-9][a-z0-9_-]{0,40}\.(?:jpg|webp|png|tif|json|index)")
TEMPORARY = ".tmp-"


def data_folder() -> Path:
    return Path(settings.BOARD_FOLDER)


def original_path(sha256: str) -> Path:
    """Give the place of an original, there or not.

    Raises
    ------
    NotFound when `sha256` is not 64 lower-case hexadecimal digits.
    """
    if not CHECKSUM.fullmatch(sha256):
        raise NotFound
    return data_folder() / "originals" / sha256[:2] / sha256


def picture_folder(key: str) -> Path:
    """Give the folder of one laid picture or change map, there or not."""
    return data_folder() / "pictures" / _key(key)[:2] / key


def part_path(key: str) -> Path:
    """Give the place of an upload that is being received, there or not."""
    return data_folder() / "parts" / _key(key)


def work_path(key: str, suffix: str = ".v") -> Path:
    """Give a place for what is only needed while a picture is being prepared."""
    folder = data_folder() / "work"
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{_key(key)}{suffix}"


@contextmanager
def work_folder() -> Iterator[Path]:
    """Give a folder for files in hand, on the board's own disk; gone afterwards."""
    place = data_folder() / "work"
    place.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=place) as folder:
        yield Path(folder)


def _key(key: str) -> str:
    if not KEY.fullmatch(key):
        raise NotFound
    return key


def keep_original(source: Path, sha256: str) -> Path:
    """Take a file in under its checksum, byte for byte; the source is gone afterwards.

    It may be repeated: when the original is there already the source is dropped.

    Raises
    ------
    NotFound
        when there is neither a source nor an original.
    """
    target = original_path(sha256)
    if not target.exists():
        if not source.exists():
            raise NotFound
        target.parent.mkdir(parents=True, exist_ok=True)
        _move(source, target)
    source.unlink(missing_ok=True)
    return target


def copy_original(source: Path) -> tuple[Path, str]:
    """Take a copy of a file in; gives its place and its SHA-256."""
    sha256 = checksum(source)
    if not original_path(sha256).exists():
        parent = data_folder() / "originals"
        parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            dir=parent, prefix=TEMPORARY, delete=False
        ) as f:
            copy = Path(f.name)
        shutil.copyfile(source, copy)
        return keep_original(copy, sha256), sha256
    return original_path(sha256), sha256


Holder = Callable[[str], bool]
_holders: list[Holder] = []


def hold(holder: Holder) -> None:
    """Have a room asked, before an original goes, whether it needs these bytes."""
    if holder not in _holders:
        _holders.append(holder)


def drop_original(sha256: str) -> None:
    """Forget an original, unless a room still needs the same bytes."""
    if not any(holds(sha256) for holds in _holders):
        original_path(sha256).unlink(missing_ok=True)


def _move(source: Path, target: Path) -> None:
    try:
        sync_file(source)
        source.chmod(0o440)
        source.rename(target)
    except OSError as cause:
        if not source.exists() or cause.errno != 18:  # EXDEV: another disk
            raise
        with whole_file(target) as fresh:
            shutil.copyfile(source, fresh)
    sync_folder(target.parent)


@contextmanager
def whole_file(target: Path, *, synced: bool = True) -> Iterator[Path]:
    """Lend a temporary name; on leaving, the file appears under `target` at once.

    Not `synced`, it does so before it is on the disk: a machine that loses its power in
    that half minute may keep a part, which is for what can be made again and is asked
    whether it is whole.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(target.suffix, TEMPORARY, target.parent)
    os.close(handle)
    fresh = Path(name)
    try:
        yield fresh
        if synced:
            sync_file(fresh)
        fresh.replace(target)
        if synced:
            sync_folder(target.parent)
    finally:
        fresh.unlink(missing_ok=True)


@contextmanager
def new_picture(key: str) -> Iterator[Path]:
    """Lend an empty folder; on leaving, all of it appears as `picture_folder(key)`.

    A folder that was there under the key is replaced.
    """
    target = picture_folder(key)
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(dir=target.parent, prefix=TEMPORARY))
    try:
        yield fresh
        for file in fresh.iterdir():
            sync_file(file)
        sync_folder(fresh)
        if target.exists():
            target.rename(
                Path(tempfile.mkdtemp(dir=fresh.parent, prefix=TEMPORARY)) / "x"
            )
        fresh.chmod(0o755)
        fresh.rename(target)
        sync_folder(target.parent)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
        _sweep_emptied(target.parent)


def _sweep_emptied(parent: Path) -> None:
    for old in parent.glob(f"{TEMPORARY}*/x"):
        shutil.rmtree(old.parent, ignore_errors=True)


def drop_picture(key: str) -> None:
    """Forget a laid picture and all that was made from it."""
    shutil.rmtree(picture_folder(key), ignore_errors=True)


def sweep(older_than_s: float = 86_400) -> int:
    """Remove what kills have left behind under temporary names; gives how many."""
    before = time.time() - older_than_s
    swept = 0
    for name in ("originals", "pictures", "parts", "work", "developed"):
        for left in (data_folder() / name).rglob(f"{TEMPORARY}*"):
            if left.exists() and left.stat().st_mtime < before:
                swept += 1
                if left.is_dir():
                    shutil.rmtree(left, ignore_errors=True)
                else:
                    left.unlink(missing_ok=True)
    return swept


def checksum(path: Path) -> str:
    """Give the SHA-256 of a file as 64 hexadecimal digits, reading it in pieces."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def sync_file(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def sync_folder(path: Path) -> None:
    """Write a folder's names down, so that a new file survives a power cut."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def free_bytes() -> int:
    folder = data_folder()
    folder.mkdir(parents=True, exist_ok=True)
    return shutil.disk_usage(folder).free


def disk_is_low(wanted: int = 0) -> bool:
    """Tell whether `wanted` more bytes would eat into the reserve."""
    return free_bytes() - wanted < int(settings.BOARD_DISK_RESERVE)


def require_room(wanted: int = 0) -> None:
    """Raise DiskNearlyFull when `wanted` more bytes would eat into the reserve."""
    if disk_is_low(wanted):
        raise DiskNearlyFull
