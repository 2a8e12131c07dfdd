"""Two states of a text word by word."""

from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum


class Sort(StrEnum):
    STAYS = "stays"
    OUT = "out"
    IN = "in"


@dataclass(frozen=True)
class Piece:
    """Some words in a row that stayed, went out or came in."""

    sort: Sort
    words: str


def told_apart(before: str, after: str) -> tuple[Piece, ...]:
    """The words as they go from one text to the other, in reading order."""
    old, new = before.split(), after.split()
    pieces = []
    match = SequenceMatcher(a=old, b=new, autojunk=False)
    for how, a, b, c, d in match.get_opcodes():
        if how == "equal":
            pieces.append(Piece(Sort.STAYS, " ".join(new[c:d])))
            continue
        if b > a:
            pieces.append(Piece(Sort.OUT, " ".join(old[a:b])))
        if d > c:
            pieces.append(Piece(Sort.IN, " ".join(new[c:d])))
    return tuple(pieces)
