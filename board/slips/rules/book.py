"""The book slip as plain values: the ordered list it is bound to, its stations."""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from hashlib import sha256

from board.permits import Role

STATIONS = (Role.EDITOR, Role.ART_DIRECTOR, Role.PRODUCTION, Role.PUBLISHER)


@dataclass(frozen=True)
class Listed:
    """One item of the list: which picture and which words were agreed."""

    item: str
    checksum: str
    text_version: int


def hash_of(listing: Sequence[Listed]) -> str:
    """The list's hash; any other picture, word or order gives another."""
    told = [[one.item, one.checksum, one.text_version] for one in listing]
    return sha256(json.dumps(told).encode()).hexdigest()


def still_missing(given: Collection[Role]) -> tuple[Role, ...]:
    """Stations that have not initialled the book slip, in any order."""
    return tuple(role for role in STATIONS if role not in given)
