"""Requests to one upload, as a client words them."""

import hashlib
from base64 import b64encode
from pathlib import Path
from typing import Any
from uuid import uuid4

import httpx

from board.repro import uploads
from tests.repro.serving import Server, told

BODY = bytes(range(256)) * 40
CHUNK = "application/offset+octet-stream"


class Line:
    """Requests to one upload, as a client words them."""

    def __init__(self, server: Server, url: str) -> None:
        self.server, self.url = server, url

    def ask(self, method: str, *, body: bytes = b"", **headers: str) -> httpx.Response:
        named = {"tus-resumable": "1.0.0"}
        named |= {name.replace("_", "-"): value for name, value in headers.items()}
        named = {name: value for name, value in named.items() if value != "none"}
        return self.server.http.request(method, self.url, content=body, headers=named)

    def patch(self, offset: int, body: bytes, **headers: str) -> httpx.Response:
        told_ = {"content_type": CHUNK, "upload_offset": str(offset), **headers}
        return self.ask("PATCH", body=body, **told_)

    def offset(self) -> int:
        return int(self.ask("HEAD").headers["upload-offset"])


def begin(length: int = len(BODY), filename: str = "a.tif") -> str:
    key = uuid4().hex
    uploads.begin_upload(key, length=length, filename=filename)
    return key


def checksum(kind: str, body: bytes) -> str:
    return f"{kind} {b64encode(hashlib.new(kind, body).digest()).decode()}"


def arrivals(folder: Path, key: str) -> list[dict[str, Any]]:
    return [said for said in told(folder, "arrived") if said["key"] == key]
