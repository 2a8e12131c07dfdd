"""Grants: the signed addresses that pages hand out and the doors let in.

The scope is an opaque text, such as a book's key and a person's, that makes every
address one person's own. A picture's or an original's address is good for at most
`BOARD_GRANT_SECONDS`; that is how long a credit taken away can still be used to look.
An upload's address lives as long as the upload may take.
"""

import hmac
import json
import re
import time
from base64 import urlsafe_b64decode, urlsafe_b64encode
from functools import lru_cache
from typing import Any
from urllib.parse import quote

from django.conf import settings

from board.errors import NotPermitted
from board.repro.signing import rounded_expiry, sign, verify

SCOPE = re.compile(r"[A-Za-z0-9_~:-]{1,120}")
DAY = 86_400
PAST = "This address has run out or was not given to you. Open the page again."


@lru_cache(maxsize=4)
def _secret(of: str) -> bytes:
    """Give the doors a key of their own, so that it opens nothing else."""
    return hmac.digest(of.encode(), b"board.repro.grants", "sha256")


def _sign(key: str, expires: int, scope: str) -> str:
    if not SCOPE.fullmatch(scope):
        raise ValueError(f"{scope!r} is not a scope")
    return sign(key, expires, scope, _secret(settings.SECRET_KEY))


def life_s() -> int:
    return int(settings.BOARD_GRANT_SECONDS)


def upload_life_s() -> int:
    return int(getattr(settings, "BOARD_UPLOAD_DAYS", 7)) * DAY


def _now(now: float | None) -> float:
    return time.time() if now is None else now


def grant_tiles(key: str, scope: str, *, now: float | None = None) -> str:
    """Give the address before `/<level>/<column>_<row>.jpg` and `/small.webp`.

    It stays the same for half of `BOARD_GRANT_SECONDS` and is good for at most all of
    it: a page that stays open asks for a new one before then.
    """
    expires = rounded_expiry(_now(now), life_s())
    return f"/t/{expires}/{scope}/{_sign('t/' + key, expires, scope)}/{key}"


def grant_original(
    sha256: str, name: str, scope: str, *, now: float | None = None
) -> str:
    """Give the address of an original, to be saved under `name`."""
    expires = rounded_expiry(_now(now), life_s())
    plain = plain_name(name)
    signature = _sign(f"o/{sha256}/{plain}", expires, scope)
    return f"/o/{expires}/{scope}/{signature}/{sha256}/{quote(plain, safe='')}"


def plain_name(name: str) -> str:
    """Give a file name without folders or control characters."""
    last = re.split(r"[/\\]", name)[-1]
    kept = "".join(sign for sign in last if sign.isprintable()).strip(". ")
    return kept[:150] or "picture"


def grant_upload(key: str, scope: str = "-", *, now: float | None = None) -> str:
    """Give the address an upload's body goes to; good as long as the upload is."""
    expires = int(_now(now)) + upload_life_s()
    return f"/u/{key}?ticket={expires}.{_sign('u/' + key, expires, scope)}.{scope}"


def grant_creation(payload: dict[str, Any], *, now: float | None = None) -> str:
    """Give the address where a client creates uploads by POST (tus creation).

    The payload comes back to the `created` hook as it is.
    """
    expires = int(_now(now)) + life_s()
    said = json.dumps(payload, sort_keys=True, separators=(",", ":")).encode()
    body = urlsafe_b64encode(said).decode().rstrip("=")
    return f"/u/?ticket={body}.{expires}.{_sign('c/' + body, expires, '-')}"


def opens(
    *, key: str, expires: str, scope: str, signature: str, longest_s: int
) -> bool:
    """Tell whether a signed address is good now."""
    if not (expires.isascii() and expires.isdigit() and len(expires) < 12):
        return False
    now = time.time()
    until = int(expires)
    return until <= now + longest_s and verify(
        key=key,
        expires=until,
        scope=scope,
        secret=_secret(settings.SECRET_KEY),
        signature=signature,
        now=now,
    )


def upload_is_open(key: str, ticket: str) -> bool:
    parts = ticket.split(".")
    return len(parts) == 3 and opens(
        key="u/" + key,
        expires=parts[0],
        scope=parts[2],
        signature=parts[1],
        longest_s=upload_life_s(),
    )


def creation_payload(ticket: str) -> dict[str, Any]:
    """Give what `grant_creation` was told; NotPermitted when it is not ours or past."""
    parts = ticket.split(".")
    if len(parts) == 3 and opens(
        key="c/" + parts[0],
        expires=parts[1],
        scope="-",
        signature=parts[2],
        longest_s=life_s(),
    ):
        body = parts[0] + "=" * (-len(parts[0]) % 4)
        payload: dict[str, Any] = json.loads(urlsafe_b64decode(body))
        return payload
    raise NotPermitted(PAST)
