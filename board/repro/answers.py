"""Answers of the doors: the few words of ASGI that they speak."""

from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Header = tuple[bytes, bytes]

LOOKED_AT: tuple[Header, ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
GUARDED: tuple[Header, ...] = (
    *LOOKED_AT,
    (b"content-security-policy", b"default-src 'none'; sandbox"),
)
PLAIN = (b"content-type", b"text/plain; charset=utf-8")
NO_STORE = (b"cache-control", b"no-store")


def header(scope: Scope, name: bytes) -> str | None:
    """Give a request header, or nothing; `name` in lower case."""
    for found, value in scope["headers"]:
        if found == name:
            return bytes(value).decode("latin-1")
    return None


async def answer(
    send: Send, status: int, headers: Iterable[Header] = (), body: bytes = b""
) -> None:
    """Send a whole answer at once."""
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


async def say(
    send: Send, status: int, words: str = "", headers: Iterable[Header] = ()
) -> None:
    """Answer with one plain sentence that nobody keeps."""
    body = words.encode()
    length = (b"content-length", str(len(body)).encode())
    # 204 must not carry a length (RFC 9110 section 8.6).
    own = [NO_STORE, *GUARDED] if status == 204 else [NO_STORE, PLAIN, length, *GUARDED]
    await answer(send, status, [*own, *headers], body)


def matches(wanted: str | None, etag: bytes) -> bool:
    """Tell whether If-None-Match names the tag (RFC 9110 section 13.1.2)."""
    if wanted is None:
        return False
    named = {word.strip().removeprefix("W/") for word in wanted.split(",")}
    return "*" in named or etag.decode() in named
