"""The doors beside Django: pictures (/t/), originals (/o/) and uploads (/u/).

Raw ASGI, since a tile through a logged-in Django view costs some fifty times as much.
They know signed plain values and no book; see `grants` for the addresses, `tus` for
uploads and for the hooks that the board gives them. Mount with

    if scope["type"] == "http" and scope["path"].startswith(PREFIXES):
        await doors(scope, receive, send)
"""

import asyncio
import mimetypes
import os
import re
import time
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

from board.errors import BoardError
from board.repro import grants, store
from board.repro.answers import (
    LOOKED_AT,
    Header,
    Receive,
    Scope,
    Send,
    answer,
    header,
    matches,
    say,
)
from board.repro.originals import original_door
from board.repro.tiles import TileIndex
from board.repro.tus import upload_door

PREFIXES = ("/t/", "/o/", "/u/")
OPEN_FILES = 256
NOWHERE = "There is nothing here."
ONLY_READ = "This address can only be read."
READS = {"GET", "HEAD"}


@dataclass(frozen=True)
class OpenPyramid:
    """A pyramid held open: its file and where its tiles lie."""

    handle: int
    index: TileIndex


class Shelf:
    """The pyramids looked at lately, held open; the oldest is closed for a new one.

    Only the event loop touches it, so nothing is read from a handle being closed.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._open: OrderedDict[str, OpenPyramid] = OrderedDict()

    def take(self, key: str) -> OpenPyramid | None:
        found = self._open.get(key)
        if found is not None:
            self._open.move_to_end(key)
            return found
        return self._fetch(key)

    def _fetch(self, key: str) -> OpenPyramid | None:
        folder = store.picture_folder(key)
        try:
            index = TileIndex.load(folder / "laid.index")
            handle = os.open(folder / "laid.tif", os.O_RDONLY)
        except FileNotFoundError:
            return None
        found = self._open[key] = OpenPyramid(handle, index)
        if len(self._open) > self._most:
            _key, oldest = self._open.popitem(last=False)
            os.close(oldest.handle)
        return found


class Passes:
    """Signed addresses that were found good, until they run out: (address) -> when.

    A page asks for some hundred tiles under one address; it is proved once.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._good: OrderedDict[tuple[str, ...], int] = OrderedDict()

    def good(self, expires: str, person: str, signature: str, key: str) -> bool:
        address = (expires, person, signature, key)
        until = self._good.get(address)
        if until is not None:
            return time.time() < until
        if not grants.opens(
            key="t/" + key,
            expires=expires,
            scope=person,
            signature=signature,
            longest_s=grants.life_s(),
        ):
            return False
        self._good[address] = int(expires)
        if len(self._good) > self._most:
            self._good.popitem(last=False)
        return True


SHELF = Shelf(OPEN_FILES)
PASSES = Passes(4096)


async def doors(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer one request to any of the three doors."""
    path: str = scope["path"]
    try:
        if path.startswith("/t/"):
            await picture_door(scope, send)
        elif path.startswith("/o/"):
            await original_door(scope, receive, send)
        elif path.startswith("/u/"):
            await upload_door(scope, receive, send)
        else:
            await say(send, 404, NOWHERE)
    except BoardError as refused:
        await say(send, refused.status, refused.says)


async def picture_door(scope: Scope, send: Send) -> None:
    """Answer a tile `<level>/<column>_<row>.jpg` or a named file of a laid picture."""
    if scope["method"] not in READS:
        await say(send, 405, ONLY_READ, [(b"allow", b"GET, HEAD")])
        return
    parts = scope["path"].split("/")
    if not 7 <= len(parts) <= 8:
        await say(send, 404, NOWHERE)
        return
    _, _, expires, person, signature, key, *rest = parts
    if not PASSES.good(expires, person, signature, key):
        await say(send, 403, grants.PAST)
    elif len(rest) == 2:
        await _tile(scope, send, key, rest)
    else:
        await _file(scope, send, store.picture_folder(key), rest[0])


def _kept(scope: Scope, tag: bytes) -> tuple[Header, ...]:
    """Give the headers of what never changes under its address.

    A shared cache may not keep it, but nginx is told until when the address is good: a
    board's own nginx may answer it so long, which is what the door itself would do.
    """
    age = b"private, max-age=%d, immutable" % grants.life_s()
    until = b"@%d" % (int(scope["path"].split("/", 3)[2]) - 1)  # it counts seconds
    return (
        (b"cache-control", age),
        (b"x-accel-expires", until),
        (b"etag", tag),
        *LOOKED_AT,
    )


TILE = re.compile(r"(\d{1,5})/(\d{1,5})_(\d{1,5})\.jpg", re.ASCII)


async def _tile(scope: Scope, send: Send, key: str, names: list[str]) -> None:
    address = TILE.fullmatch("/".join(names))
    picture = SHELF.take(key)
    if address is None or picture is None:
        await say(send, 404, NOWHERE)
        return
    level, column, row = map(int, address.groups())
    offset, length = picture.index.place(level, column, row)
    tag = b'"%b.%d.%d_%d"' % (key.encode(), level, column, row)
    if matches(header(scope, b"if-none-match"), tag):
        await answer(send, 304, _kept(scope, tag))
        return
    kind: Header = (b"content-type", b"image/jpeg")
    headers = (kind, (b"content-length", b"%d" % length), *_kept(scope, tag))
    head = scope["method"] == "HEAD"
    # Read here: a tile out of the page cache takes a fiftieth of a hop to a thread.
    body = b"" if head else os.pread(picture.handle, length, offset)
    await answer(send, 200, headers, body)


# What is kept beside them (the pyramid itself, the lossless copy) is not for looking at.
SHOWN = re.compile(r"(?!working\.)[a-z0-9][a-z0-9_-]{0,40}\.(?:jpg|webp|png)")


async def _file(scope: Scope, send: Send, folder: Path, name: str) -> None:
    path = folder / name
    if name.endswith(".webp") and not path.exists():
        path = path.with_suffix(".jpg")  # laid before the stills were WebP
    if not SHOWN.fullmatch(name) or not path.is_file():
        await say(send, 404, NOWHERE)
        return
    tag = f'"{folder.name}.{name}"'.encode()
    if matches(header(scope, b"if-none-match"), tag):
        await answer(send, 304, _kept(scope, tag))
        return
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    headers = (
        (b"content-type", kind.encode()),
        (b"content-length", b"%d" % path.stat().st_size),
        *_kept(scope, tag),
    )
    head = scope["method"] == "HEAD"
    body = b"" if head else await asyncio.to_thread(path.read_bytes)
    await answer(send, 200, headers, body)


def tile_description(key: str) -> dict[str, int]:
    """Give width, height, tile and levels of a laid picture; NotFound without one."""
    return TileIndex.load(store.picture_folder(key) / "laid.index").describe()
