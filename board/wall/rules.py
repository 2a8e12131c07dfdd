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
