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
    flags: frozenset[str] = frozenset()
    pages: dict[str, str] = field(default_factory=dict)
    asked: frozenset[tuple[str, str, str]] = frozenset()
    seen: frozenset[str] = frozenset()
    reading: bool = False


@dataclass(frozen=True)
class Ripple:
    """Standings that move, initials that lapse or come, notes that change hands.

    moves: (item, stage, from, to); lapses and comes: (item, stage, facet, whose);
    notes: (item, note, from, to); ledger: how many lines; book_slip: whether it lapses;
    flags: items to look at again; pages: (item, from, to); asked: (item, stage, facet)
    that must be initialled anew or for the first time; seen: notes that the artist
    comes to read; reading: whether one on exactly these pictures is lost.
    """

    moves: tuple[tuple[str, str, str, str], ...]
    lapses: tuple[tuple[str, str, str, str], ...]
    comes: tuple[tuple[str, str, str, str], ...]
    notes: tuple[tuple[str, str, str, str], ...]
    ledger: int
    book_slip: bool
    flags: tuple[str, ...] = ()
    pages: tuple[tuple[str, str, str], ...] = ()
    asked: tuple[tuple[str, str, str], ...] = ()
    seen: tuple[str, ...] = ()
    reading: bool = False

    @property
    def digest(self) -> str:
        """The same ripple has the same digest, whoever looks and whenever."""
        told = json.dumps(asdict(self), sort_keys=True, ensure_ascii=False)
        return sha256(told.encode()).hexdigest()

    @property
    def is_still(self) -> bool:
        things = (self.moves, self.lapses, self.comes, self.notes, self.flags)
        return not (any(things) or self.ledger or self.pages or self.asked or self.seen)


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
        flags=tuple(sorted(after.flags - before.flags)),
        pages=tuple(
            sorted(
                (item, before.pages.get(item, ""), now)
                for item, now in after.pages.items()
                if before.pages.get(item) != now
            )
        ),
        asked=tuple(sorted(after.asked - before.asked)),
        seen=tuple(sorted(after.seen - before.seen)),
        reading=before.reading and not after.reading,
    )


def _where(state: State, key: str) -> tuple[str, str]:
    return state.notes[key][1], state.notes[key][2]
