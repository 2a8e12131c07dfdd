"""Pictures that are only looked at, never laid: taken in like any other, and apart."""

from dataclasses import dataclass
from pathlib import Path

from board.errors import TooLarge
from board.repro.darkroom import develop_apart, examine_apart
from board.repro.store import copy_original, require_room
from board.repro.unlaid import developed_path, drop_developed, keep_glimpse


@dataclass(frozen=True)
class TakenIn:
    """A picture that is kept: its checksum and its size in upright pixels."""

    sha256: str
    width: int
    height: int


def take_in(path: Path, filename: str, *, key: str, most_mb: int) -> TakenIn:
    """Look a sent file over in the darkroom, keep its original and a glimpse of it.

    Raises
    ------
    PictureRefused, TooLarge, DiskNearlyFull
        with a sentence for the person who sent it; nothing is kept then.
    """
    size = path.stat().st_size
    if size > most_mb * 1_000_000:
        raise TooLarge(f"This picture is too large: {most_mb} MB at the most.")
    require_room(size)
    seen = examine_apart(path, filename)
    try:
        develop_apart(path, developed_path(key), filename)
        keep_glimpse(key)
    finally:
        drop_developed(key)
    _place, sha256 = copy_original(path)
    return TakenIn(sha256, seen.width, seen.height)
