"""The door to originals: byte for byte, whole or one range, a piece at a time.

References
----------
RFC 9110 sections 13 and 14 (conditions and ranges); RFC 6266 and RFC 8187 (names).
"""

import asyncio
import re
from pathlib import Path
from typing import BinaryIO
from urllib.parse import quote

from django.conf import settings

from board.errors import NotFound, NotPermitted
from board.repro import grants, store
from board.repro.answers import (
    GUARDED,
    Header,
    Receive,
    Scope,
    Send,
    answer,
    header,
    matches,
    say,
)

PIECE = 1 << 20
RANGE = re.compile(r"bytes=(\d*)-(\d*)")


async def original_door(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer `/o/<expires>/<scope>/<signature>/<sha256>/<name>`."""
    if scope["method"] not in {"GET", "HEAD"}:
        allowed = [(b"allow", b"GET, HEAD")]
        await say(send, 405, "This address can only be read.", allowed)
        return
    sha256, name = _signed(scope["path"])
    path = store.original_path(sha256)
    if not path.is_file():
        raise NotFound
    tag = f'"{sha256}"'.encode()
    headers = _described(name, tag)
    if matches(header(scope, b"if-none-match"), tag):
        await answer(send, 304, headers)
        return
    accel = getattr(settings, "BOARD_ACCEL", "")
    if accel:  # nginx sends the file itself, ranges and all
        inner = quote(f"{accel}/{path.relative_to(store.data_folder())}").encode()
        await answer(send, 200, [*headers, (b"x-accel-redirect", inner)])
        return
    await _send_file(scope, receive, send, path, headers)


def _signed(path: str) -> tuple[str, str]:
    parts = path.split("/", 6)
    if len(parts) != 7:
        raise NotFound
    _, _, expires, person, signature, sha256, name = parts
    if not grants.opens(
        key=f"o/{sha256}/{name}",
        expires=expires,
        scope=person,
        signature=signature,
        longest_s=grants.life_s(),
    ):
        raise NotPermitted(grants.PAST)
    return sha256, name


def _described(name: str, tag: bytes) -> list[Header]:
    return [
        (b"content-type", b"application/octet-stream"),
        (b"content-disposition", disposition(name).encode("ascii")),
        (b"accept-ranges", b"bytes"),
        (b"cache-control", b"private, no-cache"),
        (b"etag", tag),
        *GUARDED,
    ]


def disposition(name: str) -> str:
    """Give the header that saves a file under its name, accents and all (RFC 6266)."""
    plain = name.encode("ascii", "replace").decode().replace("?", "_")
    plain = re.sub(r'["\\%;]', "_", plain)
    if plain == name:
        return f'attachment; filename="{plain}"'
    exact = quote(name, safe="!#$&+-.^_`|~")
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{exact}"


def asked_range(asked: str | None, size: int) -> tuple[int, int] | None:
    """Read a Range header: first byte and the one after the last, or the whole file.

    Raises
    ------
    ValueError when the range lies outside the file (416).
    """
    found = RANGE.fullmatch(asked.strip()) if asked else None
    if found is None or found.group(1) == found.group(2) == "":
        return None  # none, several or unreadable: the whole file (RFC 9110 14.2)
    first, last = found.groups()
    if not first:
        begin, end = max(0, size - int(last)), size
    else:
        begin, end = int(first), min(size, int(last) + 1 if last else size)
        if last and int(last) < begin:
            return None
    if begin >= end:
        raise ValueError("outside the file")
    return begin, end


async def _send_file(
    scope: Scope, receive: Receive, send: Send, path: Path, headers: list[Header]
) -> None:
    size = path.stat().st_size
    tag = dict(headers)[b"etag"].decode()
    fresh = header(scope, b"if-range") in {None, tag}
    try:
        part = asked_range(header(scope, b"range"), size) if fresh else None
    except ValueError:
        whole = (b"content-range", f"bytes */{size}".encode())
        await say(send, 416, "That part lies outside the file.", [whole])
        return
    begin, end = part or (0, size)
    more = [(b"content-length", str(end - begin).encode())]
    if part:
        more.append((b"content-range", f"bytes {begin}-{end - 1}/{size}".encode()))
    status = 206 if part else 200
    start = {"type": "http.response.start", "status": status}
    await send({**start, "headers": [*headers, *more]})
    if scope["method"] == "HEAD":
        await send({"type": "http.response.body", "body": b""})
        return
    with path.open("rb") as file:
        file.seek(begin)
        await _pieces(receive, send, file, end - begin)


async def _pieces(receive: Receive, send: Send, file: BinaryIO, left: int) -> None:
    """Send a file piece by piece, and stop when nobody is there to read it."""
    gone = asyncio.create_task(_until_gone(receive))
    try:
        while left and not gone.done():
            piece = await asyncio.to_thread(file.read, min(PIECE, left))
            if not piece:
                break
            left -= len(piece)
            await send(
                {"type": "http.response.body", "body": piece, "more_body": left > 0}
            )
    finally:
        gone.cancel()


async def _until_gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
