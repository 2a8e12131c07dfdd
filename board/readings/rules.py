"""A whole reading as plain values: what was read, named by one hash."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass

SHORTEST_S = 20  # nobody reads a picture book in less
LONGEST_S = 6 * 3600


@dataclass(frozen=True)
class Shown:
    """One item as it was read: the picture's checksum and the text version."""

    item: str
    label: str
    stage: str
    sha256: str
    text_version: int


def list_hash(shown: Sequence[Shown]) -> str:
    """Name exactly these pictures with exactly these words, in this order (SHA-256)."""
    told = [[one.item, one.sha256, one.text_version] for one in shown]
    body = json.dumps(told, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(body.encode()).hexdigest()


def minutes(seconds: float) -> str:
    """A length of time as people say it."""
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60:02d} s"
