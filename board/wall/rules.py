"""How things are said on the wall. Plain values."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

CAPTION_WORDS = 12
PLURALS = {"query": "queries"}


@dataclass(frozen=True)
class Count:
    """So many open notes of one class."""

    number: int
    word: str


@dataclass(frozen=True)
class Hanging:
    """How somebody wants the wall: size, newest or last OK, look, and what alone."""

    size: str = "middle"
    agreed: bool = False
    look: str = "colour"
    only: str = ""

    @property
    def plain(self) -> bool:
        """Whether everything hangs, so that pages meet as in the book."""
        return not self.only


def counted(sorts: Sequence[str], order: Sequence[str]) -> tuple[Count, ...]:
    """Classes that have open notes, in the trade's order, each in words."""
    counts = Counter(sorts)
    return tuple(
        Count(counts[sort], _plural(sort, counts[sort]))
        for sort in order
        if counts[sort]
    )


def _plural(sort: str, number: int) -> str:
    return sort if number == 1 else PLURALS.get(sort, f"{sort}s")


def first_words(text: str) -> str:
    """The beginning of an item's words, as a caption under it."""
    words = text.split()
    short = " ".join(words[:CAPTION_WORDS])
    return f"{short} …" if len(words) > CAPTION_WORDS else short


SAME_RUN = 3
SAME_COMPOSITION = 0.75  # of `imaging.palette.alike`; our own, set on the demo book
WARM, COOL = 0.12, -0.12


@dataclass(frozen=True)
class Swatch:
    """One colour of a strip: where it begins and how much it takes, in shares."""

    hex: str
    begins: float
    area: float

    @property
    def percent(self) -> int:
        return round(self.area * 100)


def runs_of(same: Sequence[bool]) -> dict[int, int]:
    """How long the run is that each place belongs to.

    `same[n]` says whether n is like n - 1; a run of k likes holds k + 1 places.
    """
    runs: dict[int, int] = {}
    start = 0
    for at in range(1, len(same) + 1):
        if at == len(same) or not same[at]:
            if at - start > 1:
                runs |= dict.fromkeys(range(start, at), at - start)
            start = at
    return runs


def swatches(colours: Sequence[tuple[str, float]]) -> tuple[Swatch, ...]:
    """Colours laid end to end, in the order given; shares add up to 1."""
    found, begins = [], 0.0
    for hex_, area in colours:
        found.append(Swatch(hex_, begins, area))
        begins += area
    return tuple(found)


def curve(places: Sequence[tuple[float, float]]) -> str:
    """A polyline's points, high values up, in units of a strip and of the height."""
    return " ".join(f"{x:.2f},{1 - y:.3f}" for x, y in places)


def warmth_word(warmth: float) -> str:
    """How warm a picture is on the whole, in a word."""
    if warmth > WARM:
        return "warm"
    return "cool" if warmth < COOL else "neither"
