"""What an act would touch: two states of a book compared. Plain values."""

import json
from dataclasses import asdict, dataclass, field
from hashlib import sha256


@dataclass(frozen=True)
class State:
    """A book's sign-off at a moment; keys are unguessable names of items and notes."""

    standings: dict[tuple[str, str], str] = field(default_factory=dict)
    initials: frozenset[tuple[str, str, str, str]] = frozenset()
    notes: dict[str, tuple[str, str, str]] = field(default_factory=dict)
    ledger: frozenset[str] = frozenset()
    book_slip: str = ""


@dataclass(frozen=True)
class Ripple:
    """Standings that move, initials that lapse or come, notes that change hands.

    moves: (item, stage, from, to); lapses and comes: (item, stage, facet, whose);
    notes: (item, note, from, to); ledger: how many lines; book_slip: whether it lapses.
    """

    moves: tuple[tuple[str, str, str, str], ...]
    lapses: tuple[tuple[str, str, str, str], ...]
    comes: tuple[tuple[str, str, str, str], ...]
    notes: tuple[tuple[str, str, str, str], ...]
    ledger: int
    book_slip: bool

    @property
    def digest(self) -> str:
        """The same ripple has the same digest, whoever looks and whenever."""
        told = json.dumps(asdict(self), sort_keys=True, ensure_ascii=False)
        return sha256(told.encode()).hexdigest()

    @property
    def is_still(self) -> bool:
        return not (
            self.moves or self.lapses or self.comes or self.notes or self.ledger
        )


def between(before: State, after: State) -> Ripple:
    """Compare two states; new notes and ledger lines count, order never does."""
    moves = [
        (*place, before.standings.get(place, "shut"), now)
        for place, now in after.standings.items()
        if before.standings.get(place, "shut") != now
    ]
    notes = [
        (now[0], key, " ".join(_where(before, key)), " ".join(now[1:]))
        for key, now in after.notes.items()
        if key in before.notes and before.notes[key] != now
    ]
    return Ripple(
        moves=tuple(sorted(moves)),
        lapses=tuple(sorted(before.initials - after.initials)),
        comes=tuple(sorted(after.initials - before.initials)),
        notes=tuple(sorted(notes)),
        ledger=len(after.ledger - before.ledger),
        book_slip=bool(before.book_slip) and before.book_slip != after.book_slip,
    )


def _where(state: State, key: str) -> tuple[str, str]:
    return state.notes[key][1], state.notes[key][2]
