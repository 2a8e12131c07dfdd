"""The door for uploads: tus 1.0.0 with creation, checksum, termination, expiration.

The words between this door and the board. `settings.BOARD_UPLOAD_HOOKS` names a module
with three functions, each called in a thread of its own, outside any transaction:

    created(payload: dict, length: int, filename: str) -> str
        A client creates an upload by POST to an address of `grants.grant_creation`;
        `payload` is what that was told. Makes the board's row and gives its key (6 to
        80 letters, digits, - and _). Raises a BoardError to refuse.
    arrived(upload_key: str, path: pathlib.Path, sha256: str) -> None
        All bytes are on the disk in `path` and their SHA-256 is known. It is called
        again after a kill or an error until it returns, so it must be repeatable. It
        may move the file (`store.keep_original(path, sha256)`). A BoardError becomes the
        client's answer, with its sentence.
    ended(upload_key: str) -> None
        The sender ended the upload, or its last day passed; its bytes are gone.

Pages create uploads through the API instead: make the row, then call
`uploads.begin_upload(key, length=..., filename=...)` and hand out
`grants.grant_upload(key, scope)`. A sweep calls `uploads.expire_uploads()` and
`uploads.finish(key)` for each key of `uploads.untold_uploads()`.

References
----------
tus resumable upload protocol 1.0.0 (25 March 2016): core and the four extensions.
"""

import asyncio
import os
from base64 import b64decode
from binascii import Error as NotBase64
from collections.abc import Callable
from dataclasses import dataclass, replace
from email.utils import formatdate
from errno import EDQUOT, ENOSPC
from functools import partial
from hashlib import new as new_hash
from typing import Any
from urllib.parse import parse_qs

from django.conf import settings

from board.errors import BoardError, DiskNearlyFull, NotPermitted
from board.repro import grants, store, uploads
from board.repro.answers import Header, Receive, Scope, Send, header, say

VERSION = b"1.0.0"
RESUMABLE = (b"tus-resumable", VERSION)
EXTENSIONS = b"creation,checksum,termination,expiration"
ALGORITHMS = ("sha1", "sha256")
METHODS = b"OPTIONS, POST, HEAD, PATCH, DELETE"
CHUNK = "application/offset+octet-stream"
PIECE = 1 << 20
BIGGEST = 1 << 62


class Refused(BoardError):
    """A request that does not keep to the protocol, with the status tus gives it."""

    def __init__(self, status: int, says: str) -> None:
        super().__init__(says)
        self.status = status


async def upload_door(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer one tus request."""
    method = header(scope, b"x-http-method-override") or scope["method"]
    try:
        if method == "OPTIONS":
            await say(send, 204, headers=_abilities())
            return
        _require_version(scope)
        deed = {"POST": _create, "HEAD": _tell, "PATCH": _patch, "DELETE": _end}
        if method not in deed:
            raise Refused(405, "Uploads know OPTIONS, POST, HEAD, PATCH and DELETE.")
        await deed[method](scope, receive, send)
    except BoardError as refused:
        headers: list[Header] = [RESUMABLE]
        if refused.status == 405:
            headers.append((b"allow", METHODS))
        if refused.status == 412:
            headers.append((b"tus-version", VERSION))
        await say(send, refused.status, refused.says, headers)


def _abilities() -> list[Header]:
    return [
        RESUMABLE,
        (b"tus-version", VERSION),
        (b"tus-extension", EXTENSIONS),
        (b"tus-max-size", str(int(settings.BOARD_MAX_BYTES)).encode()),
        (b"tus-checksum-algorithm", ",".join(ALGORITHMS).encode()),
        (b"allow", METHODS),
    ]


def _require_version(scope: Scope) -> None:
    if header(scope, b"tus-resumable") != VERSION.decode():
        raise Refused(412, "This door speaks tus 1.0.0 only.")


def _ticket(scope: Scope) -> str:
    query = bytes(scope["query_string"]).decode("latin-1")
    return parse_qs(query).get("ticket", [""])[0]


def _key(scope: Scope) -> str:
    """Give the key of an upload whose ticket is good."""
    key = str(scope["path"]).removeprefix("/u/")
    if not grants.upload_is_open(key, _ticket(scope)):
        raise NotPermitted(grants.PAST)
    store.part_path(key)
    return key


def whole_number(text: str | None, name: str) -> int:
    """Read a non-negative whole number from a header; 400 without one."""
    if text is None or not (text.isascii() and text.isdigit()) or len(text) > 19:
        raise Refused(400, f"{name} must be a whole number of bytes.")
    return int(text)


def metadata(text: str | None) -> dict[str, str]:
    """Read Upload-Metadata: comma-separated keys, each with a Base64 value or none."""
    found: dict[str, str] = {}
    for pair in (text or "").split(","):
        name, _, value = pair.strip().partition(" ")
        if not name and not value:
            continue
        if not name.isascii() or name in found:
            raise Refused(400, "Upload-Metadata names a key twice or not in ASCII.")
        try:
            found[name] = b64decode(value, validate=True).decode()
        except (NotBase64, UnicodeDecodeError) as cause:
            raise Refused(400, "Upload-Metadata is not Base64 of UTF-8.") from cause
    return found


def _until(note: uploads.Note) -> Header:
    return (b"upload-expires", formatdate(note.expires, usegmt=True).encode())


# ------------------------------------------------------------------ one deed a method


async def _create(scope: Scope, _receive: Receive, send: Send) -> None:
    if scope["path"] not in {"/u/", "/u"}:
        raise Refused(405, "Uploads are created at the address above this one.")
    payload = grants.creation_payload(_ticket(scope))
    if header(scope, b"upload-defer-length") is not None:
        raise Refused(400, "Say the length of the file: it cannot be told later.")
    length = whole_number(header(scope, b"upload-length"), "Upload-Length")
    told = metadata(header(scope, b"upload-metadata"))
    filename = grants.plain_name(told.get("filename", told.get("name", "")))
    key = await asyncio.to_thread(uploads.create, payload, length, filename)
    place = grants.grant_upload(key).encode()
    note = await asyncio.to_thread(uploads.read_note, key)
    await say(send, 201, headers=[RESUMABLE, (b"location", place), _until(note)])


async def _tell(scope: Scope, _receive: Receive, send: Send) -> None:
    key = _key(scope)
    offset = await asyncio.to_thread(uploads.offset_of, key)
    note = await asyncio.to_thread(uploads.read_note, key)
    if offset == note.length and not note.arrived:
        await asyncio.to_thread(uploads.finish, key)  # killed before the board knew
    headers = [
        RESUMABLE,
        (b"upload-offset", str(offset).encode()),
        (b"upload-length", str(note.length).encode()),
        _until(note),
    ]
    await say(send, 200, headers=headers)


async def _end(scope: Scope, _receive: Receive, send: Send) -> None:
    key = _key(scope)
    note = await asyncio.to_thread(uploads.read_note, key)
    if note.sha256:
        raise Refused(409, "The file has arrived; put its revision away instead.")
    await asyncio.to_thread(uploads.end_upload, key)
    await say(send, 204, headers=[RESUMABLE])


async def _patch(scope: Scope, receive: Receive, send: Send) -> None:
    key = _key(scope)
    if header(scope, b"content-type") != CHUNK:
        raise Refused(415, f"A chunk is sent as {CHUNK}.")
    offset = whole_number(header(scope, b"upload-offset"), "Upload-Offset")
    wanted = checksum_asked(header(scope, b"upload-checksum"))
    note = await asyncio.to_thread(uploads.read_note, key)
    if not note.sha256:
        await asyncio.to_thread(store.require_room, _announced(scope, note, offset))
        chunk = Chunk(key, offset, note, wanted)
        if not await chunk.take_in(receive):
            return  # nobody is there to answer
        offset = chunk.end
    elif offset != note.length:
        raise Refused(409, f"{note.length} bytes are here already.")
    if offset == note.length:
        await asyncio.to_thread(uploads.finish, key)
    headers = [RESUMABLE, (b"upload-offset", str(offset).encode()), _until(note)]
    await say(send, 204, headers=headers)


def _announced(scope: Scope, note: uploads.Note, offset: int) -> int:
    """Give how many bytes the request brings, or at most may bring."""
    length = header(scope, b"content-length")
    if length is None:
        return max(0, note.length - offset)
    announced = whole_number(length, "Content-Length")
    if offset + announced > note.length:
        raise Refused(413, f"The file was said to have {note.length} bytes in all.")
    return announced


# --------------------------------------------------------------------- one chunk


@dataclass(frozen=True)
class Checksum:
    """What a client says its chunk hashes to."""

    algorithm: str
    digest: bytes


def checksum_asked(text: str | None) -> Checksum | None:
    """Read Upload-Checksum; 400 for an algorithm that is not offered."""
    if text is None:
        return None
    algorithm, _, value = text.strip().partition(" ")
    if algorithm not in ALGORITHMS:
        raise Refused(400, f"Checksums are taken as {' or '.join(ALGORITHMS)}.")
    try:
        return Checksum(algorithm, b64decode(value, validate=True))
    except NotBase64 as cause:
        raise Refused(400, "Upload-Checksum is not Base64.") from cause


async def _in_thread(deed: Callable[[], None]) -> None:
    """Do a deed on the part file in a thread, and see its end even when cancelled.

    The file must not be closed, nor its number used anew, while the thread writes.
    """
    job = asyncio.ensure_future(asyncio.to_thread(deed))
    try:
        await asyncio.shield(job)
    except asyncio.CancelledError:
        await asyncio.wait([job])
        raise


class Chunk:
    """The body of one PATCH on its way into the part file."""

    def __init__(
        self, key: str, offset: int, note: uploads.Note, wanted: Checksum | None
    ) -> None:
        self._key, self._begin, self._note = key, offset, note
        self._wanted = wanted
        self._sum = new_hash(wanted.algorithm) if wanted else None
        self._whole: Any = uploads.running_hash(key, offset)
        self._handle = -1
        self.end = offset

    async def take_in(self, receive: Receive) -> bool:
        """Write the body as it comes; False when the line was cut.

        What came before a cut is kept, unless a checksum was to prove it.
        """
        with uploads.locked(self._key) as handle:
            self._handle = handle
            await _in_thread(self._open)
            try:
                whole = await self._receive(receive)
            except Refused:
                self._cut_back()
                raise
            await _in_thread(partial(self._close, whole=whole))
        return whole

    def _open(self) -> None:
        here = uploads.mend(self._key, self._handle)
        if here != self._begin:
            raise Refused(409, f"{here} bytes are here; go on from there.")
        if self._wanted:
            uploads.save_note(self._key, replace(self._note, checking=self._begin))

    async def _receive(self, receive: Receive) -> bool:
        waiting = bytearray()
        while True:
            message = await receive()
            gone = message["type"] == "http.disconnect"
            waiting += message.get("body", b"")
            last = gone or not message.get("more_body", False)
            if waiting and (last or len(waiting) >= PIECE):
                await _in_thread(partial(self._write, bytes(waiting)))
                waiting.clear()
            if last:
                return not gone

    def _write(self, body: bytes) -> None:
        if self.end + len(body) > self._note.length:
            raise Refused(413, f"The file was said to have {self._note.length} bytes.")
        view = memoryview(body)
        try:
            while view:
                view = view[os.write(self._handle, view) :]
        except OSError as cause:
            if cause.errno not in {ENOSPC, EDQUOT}:
                raise
            raise DiskNearlyFull from cause
        self.end += len(body)
        for running in (self._sum, self._whole):
            if running is not None:
                running.update(body)

    def _close(self, *, whole: bool) -> None:
        if self._wanted is None:
            uploads.keep_hash(self._key, self.end, self._whole)
            return
        right = self._sum is not None and self._sum.digest() == self._wanted.digest
        if not (whole and right):
            self._cut_back()
            if whole:
                raise Refused(460, "The chunk arrived changed. Send it again.")
            return
        uploads.save_note(self._key, replace(self._note, checking=None))
        uploads.keep_hash(self._key, self.end, self._whole)

    def _cut_back(self) -> None:
        """Forget the chunk: its checksum failed or it is longer than the file."""
        os.ftruncate(self._handle, self._begin)
        if self._wanted:
            uploads.save_note(self._key, replace(self._note, checking=None))
        self.end = self._begin
