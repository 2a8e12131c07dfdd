"""Plain questions about people: keys, initials and pencils."""

import hashlib
import secrets
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

from board.errors import BoardError

ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"
PENCIL_LINES = ("plain", "dashed", "dotted", "dash-dot", "double")
PENCIL_HUES = 8


def new_key() -> str:
    """Make an unguessable name for an address: 16 letters, about 79 bits."""
    return "".join(secrets.choice(ALPHABET) for _ in range(16))


def initials_of(name: str) -> str:
    """First letter of each part of a name, three at the most: Tamsin Okoro-Vale, TOV."""
    parts = unicodedata.normalize("NFC", name).replace("-", " ").split()
    return "".join(part[0].upper() for part in parts)[:3] or "?"


class TooOften(BoardError):
    """Somebody knocks more often than people do."""

    status = 429


class WayInClosed(BoardError):
    """A link that was used, ran out, or never was."""

    status = 410
    says = (
        "This link does not let anybody in: it was used already, or its time ran out. "
        "Ask for a new one on the sign-in page."
    )


class Door(StrEnum):
    """What somebody knocks at."""

    LINK = "link"
    PASSWORD = "password"  # noqa: S105 - a door, not a secret


@dataclass(frozen=True)
class Limit:
    """So many knocks within so many minutes."""

    times: int
    minutes: int


PER_ADDRESS = {Door.LINK: Limit(5, 60), Door.PASSWORD: Limit(10, 15)}
PER_PLACE = {Door.LINK: Limit(30, 60), Door.PASSWORD: Limit(60, 15)}


def new_token() -> str:
    """Make a secret for a mailed link: 256 bits."""
    return secrets.token_urlsafe(32)


def token_hash(token: str) -> str:
    """What is kept of a token; enough, since the token itself is all chance."""
    return hashlib.sha256(token.encode()).hexdigest()


def named(session_key: str | None) -> str:
    """A session's name for messages that others could read: not the key itself."""
    return hashlib.sha256((session_key or "").encode()).hexdigest()[:20]
