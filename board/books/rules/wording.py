"""Two states of some words beside each other, word by word. Plain values."""

import re
from dataclasses import dataclass
from difflib import SequenceMatcher

PARTS = re.compile(r"\s+|[^\s]+")
KEPT, OUT, IN = "kept", "out", "in"


@dataclass(frozen=True)
class Run:
    """Words that stayed, went out or came in, with the spaces between them."""

    how: str
    words: str


def compared(old: str, new: str) -> list[Run]:
    """What went out and what came in; joined, the runs give back either text.

    Words are compared whole, as a reader sees them (longest common runs, the
    Ratcliff-Obershelp way of Python's difflib).
    """
    before, after = PARTS.findall(old), PARTS.findall(new)
    runs: list[Run] = []
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    for how, a, b, c, d in matcher.get_opcodes():
        if how == "equal":
            runs.append(Run(KEPT, "".join(before[a:b])))
            continue
        if b > a:
            runs.append(Run(OUT, "".join(before[a:b])))
        if d > c:
            runs.append(Run(IN, "".join(after[c:d])))
    return runs


def counted(runs: list[Run]) -> tuple[int, int]:
    """How many words went out and came in."""
    out = sum(len(run.words.split()) for run in runs if run.how == OUT)
    into = sum(len(run.words.split()) for run in runs if run.how == IN)
    return out, into
