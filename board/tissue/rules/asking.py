"""Asked and not asked: measured changes held against the notes. Plain values.

Common practice, no source: a change is asked for when at least half of it lies in the
region of a direction, suggestion or query that was open when the revision went up.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from board.tissue.rules import Region

HALF = 0.5
TOUCHED = 0.05  # of a note's region, or of the change, that has to overlap


class Became(StrEnum):
    """What the light table says of a note's place."""

    CHANGED = "changed"
    NOT_CHANGED = "not changed"
    CANNOT_SAY = "cannot say"


@dataclass(frozen=True)
class Measured:
    """One change: its place in order of size, region, area on the sheet, mean dE00."""

    place: int
    region: Region
    area: float
    mean: float
    peak: float


@dataclass(frozen=True)
class Ask:
    """A note that can ask for a change."""

    key: str
    region: Region | None


@dataclass(frozen=True)
class Outcome:
    """What became of a note's place: a word, and the changes that lie there."""

    became: Became
    share: float = 0.0
    places: tuple[int, ...] = ()


def asked_by(change: Measured, asks: Iterable[Ask]) -> tuple[str, ...]:
    """Keys of the notes that asked for a change; none means nobody asked."""
    size = change.region.area
    return tuple(
        ask.key
        for ask in asks
        if ask.region is not None
        and size
        and change.region.shared_with(ask.region) / size >= HALF
    )


def became(ask: Ask, changes: Sequence[Measured], *, colour: bool) -> Outcome:
    """What became of a note's place; between drawn and painted nobody can say."""
    if ask.region is None or not colour or not ask.region.area:
        return Outcome(Became.CANNOT_SAY)
    here, covered = [], 0.0
    for change in changes:
        shared = change.region.shared_with(ask.region)
        smaller = min(change.region.area, ask.region.area)
        if smaller and shared / smaller >= TOUCHED:
            here.append(change.place)
            covered += change.area * shared / change.region.area
    if not here:
        return Outcome(Became.NOT_CHANGED)
    share = min(covered / ask.region.area, 1.0)
    return Outcome(Became.CHANGED, share, tuple(here))


def far(one: Region, other: Region) -> float:
    """How far apart the middles of two regions lie, squared, on the sheet."""
    across = one.x + one.width / 2 - other.x - other.width / 2
    down = one.y + one.height / 2 - other.y - other.height / 2
    return across * across + down * down
