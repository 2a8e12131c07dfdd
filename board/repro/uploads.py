"""Uploads while they are received: a part file and a small note beside each.

The offset is the size of the part file and nothing else, so it is right after any
kill. One writer at a time holds a file lock on the part. The note (`<key>.json`) keeps
what cannot be read off the part: its final length, its name, its last day, and

    checking  the offset to cut back to while a checksummed chunk is being received
    sha256    set once all of it is on the disk
    arrived   whether the board has been told
"""

import fcntl
import json
import os
import time
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from threading import Lock
from typing import Any, Protocol, cast

from django.conf import settings
from django.db import close_old_connections

from board.errors import BoardError, NotFound, NotUnderstood, TooLarge
from board.repro import grants, store


class UploadBusy(BoardError):
    """Another request still writes to this upload."""

    status = 423
    says = "This upload is being written to by another connection. Try again shortly."


class UploadPast(BoardError):
    """The upload's last day has passed."""

    status = 410
    says = "This upload was not finished in time. Begin it again."


@dataclass(frozen=True)
class Note:
    """What is known of an upload beside its bytes; times in seconds since 1970."""

    length: int
    filename: str
    expires: int
    checking: int | None = None
    sha256: str = ""
    arrived: bool = False


class Hooks(Protocol):
    """What the board does for the door; see `tus` for the words of the contract."""

    def created(self, payload: dict[str, Any], length: int, filename: str) -> str: ...
    def arrived(self, upload_key: str, path: Path, sha256: str) -> None: ...
    def ended(self, upload_key: str) -> None: ...


def hooks() -> Hooks:
    return cast(Hooks, import_module(settings.BOARD_UPLOAD_HOOKS))


# The checksum so far of uploads in this process: key -> (offset, hash). A chunk that
# continues elsewhere, or after a restart, is hashed from the file at the end instead.
_running: OrderedDict[str, tuple[int, Any]] = OrderedDict()
MOST_RUNNING = 64
_guard = Lock()


def running_hash(key: str, offset: int) -> Any:
    """Give the hash of the first `offset` bytes if this process still has it."""
    with _guard:
        at, so_far = _running.get(key, (-1, None))
    if at == offset:
        return so_far.copy()
    return sha256() if offset == 0 else None


def keep_hash(key: str, offset: int, so_far: Any) -> None:
    with _guard:
        _running.pop(key, None)
        if so_far is not None:
            _running[key] = (offset, so_far)
            while len(_running) > MOST_RUNNING:
                _running.popitem(last=False)


def require_acceptable(length: int) -> None:
    """Raise when an upload of that many bytes cannot be taken in."""
    most = int(settings.BOARD_MAX_BYTES)
    if length < 1:
        raise NotUnderstood("The file is empty. Look whether it opens, then resend it.")
    if length > most:
        raise TooLarge(
            f"The file has {length / 1e6:,.0f} MB; the board takes up to "
            f"{most / 1e6:,.0f} MB. Send it flattened or compressed."
        )
    store.require_room(length)


def begin_upload(key: str, *, length: int, filename: str) -> None:
    """Make room for an upload; `grants.grant_upload(key)` gives its address.

    Parameters
    ----------
    key : 6 to 80 letters, digits, - and _, hard to guess and never used before.
    length : bytes in all.
    filename : the name it was sent under, kept as told.

    Raises
    ------
    NotUnderstood, TooLarge, DiskNearlyFull
    """
    require_acceptable(length)
    part = store.part_path(key)
    part.parent.mkdir(parents=True, exist_ok=True)
    until = int(time.time()) + grants.upload_life_s()
    part.touch(mode=0o640, exist_ok=True)
    save_note(key, Note(length, filename, until))
    store.sync_folder(part.parent)


def _note_path(key: str) -> Path:
    return store.part_path(key).with_suffix(".json")


def read_note(key: str) -> Note:
    """Give the note of an upload; NotFound without one, UploadPast when it is over."""
    try:
        note = Note(**json.loads(_note_path(key).read_text(encoding="utf-8")))
    except FileNotFoundError as cause:
        raise NotFound from cause
    if time.time() >= note.expires:
        raise UploadPast
    return note


def save_note(key: str, note: Note) -> None:
    with store.whole_file(_note_path(key)) as fresh:
        fresh.write_text(json.dumps(asdict(note)), encoding="utf-8")


@contextmanager
def locked(key: str) -> Iterator[int]:
    """Lend the part file, open for writing and locked; UploadBusy when it is taken."""
    try:
        handle = os.open(store.part_path(key), os.O_RDWR)
    except FileNotFoundError as cause:
        raise NotFound from cause
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as cause:
            raise UploadBusy from cause
        yield handle
    finally:
        os.close(handle)


def mend(key: str, handle: int) -> int:
    """Cut off a chunk whose checksum was never confirmed; gives the true offset."""
    note = read_note(key)
    if note.checking is not None:
        os.ftruncate(handle, min(note.checking, os.fstat(handle).st_size))
        save_note(key, replace(note, checking=None))
    return os.lseek(handle, 0, os.SEEK_END)


def offset_of(key: str) -> int:
    """Give how many bytes are safely here, also while another request writes."""
    note = read_note(key)
    if note.sha256:
        return note.length
    try:
        size = store.part_path(key).stat().st_size
    except FileNotFoundError as cause:
        raise NotFound from cause
    if note.checking is None:
        return size
    try:
        with locked(key) as handle:
            return mend(key, handle)
    except UploadBusy:
        return min(size, note.checking)


def finish(key: str) -> str:
    """Write a whole upload down and tell the board; it may be repeated.

    Returns
    -------
    The SHA-256 of the file.

    Raises
    ------
    BoardError
        whatever the `arrived` hook raises; the next try tells the board again.
    """
    note = read_note(key)
    if not note.sha256:
        note = _write_down(key, note)
    if not note.arrived:
        _in_database(hooks().arrived, key, store.part_path(key), note.sha256)
        if _note_path(key).exists():
            save_note(key, replace(note, arrived=True))
    return note.sha256


def _write_down(key: str, note: Note) -> Note:
    part = store.part_path(key)
    store.sync_file(part)
    store.sync_folder(part.parent)
    so_far = running_hash(key, note.length)
    keep_hash(key, 0, None)
    digest = so_far.hexdigest() if so_far is not None else store.checksum(part)
    done = replace(note, sha256=digest, checking=None)
    save_note(key, done)
    return done


def _in_database(hook: Any, *values: Any) -> Any:
    """Call a hook in this thread without leaving a database connection behind."""
    close_old_connections()
    try:
        return hook(*values)
    finally:
        close_old_connections()


def create(payload: dict[str, Any], length: int, filename: str) -> str:
    """Let the board make an upload and begin it; gives its key."""
    require_acceptable(length)
    key = str(_in_database(hooks().created, payload, length, filename))
    begin_upload(key, length=length, filename=filename)
    return key


def end_upload(key: str, *, tell: bool = True) -> None:
    """Drop an upload and what was received of it; UploadBusy while it is written."""
    with locked(key):
        keep_hash(key, 0, None)
        _note_path(key).unlink(missing_ok=True)
        store.part_path(key).unlink(missing_ok=True)
    if tell:
        _in_database(hooks().ended, key)


def drop_part(key: str) -> None:
    """Forget an upload without a word to the board: its file was taken or refused."""
    _note_path(key).unlink(missing_ok=True)
    store.part_path(key).unlink(missing_ok=True)


def expire_uploads(now: float | None = None) -> list[str]:
    """End the uploads whose last day has passed; gives their keys."""
    moment = time.time() if now is None else now
    ended: list[str] = []
    for key, note in _noted():
        if moment < note.expires:
            continue
        try:
            end_upload(key, tell=not note.arrived)
        except UploadBusy:
            continue
        except NotFound:
            drop_part(key)
        ended.append(key)
    return ended


def untold_uploads() -> list[str]:
    """Give the uploads that are whole but of which the board was not told yet.

    A sweep calls `finish` on each; that covers a kill between the two.
    """
    found: list[str] = []
    for key, note in _noted():
        if note.arrived or note.checking is not None or time.time() >= note.expires:
            continue
        if note.sha256 or _size(key) == note.length:
            found.append(key)
    return found


def _noted() -> Iterator[tuple[str, Note]]:
    """Give each upload and its note; one half-written or just gone is passed over."""
    for path in sorted((store.data_folder() / "parts").glob("*.json")):
        if path.name.startswith(store.TEMPORARY):
            continue
        try:
            yield path.stem, Note(**json.loads(path.read_text(encoding="utf-8")))
        except (FileNotFoundError, ValueError, TypeError):
            continue


def _size(key: str) -> int:
    try:
        return store.part_path(key).stat().st_size
    except FileNotFoundError:
        return -1
