"""Everything that decides an item's standing, as one frozen value."""

from dataclasses import dataclass, field
from datetime import datetime

from board.books.rules import Stage, Standing
from board.permits import Facet, Role
from board.slips.rules.stations import Asked, Line
from board.tissue.rules import BLOCKING


@dataclass(frozen=True)
class NoteFact:
    """A note as sign-off looks at it."""

    key: str
    sort: str
    state: str
    facet: Facet
    by: str
    role: Role
    has_region: bool = True
    issued: bool = False
    answer: str = ""
    label: str = ""
    raised_at: datetime | None = None

    @property
    def blocks(self) -> bool:
        return self.state == "open" and self.sort in BLOCKING

    @property
    def wants_answer(self) -> bool:
        return self.blocks and self.issued and not self.answer


@dataclass(frozen=True)
class Given:
    """A live initial."""

    key: str
    facet: Facet
    person: str
    role: Role
    kind: str
    checksum: str
    text_version: int
    principal: str = ""
    listed: frozenset[str] = frozenset()
    checks: frozenset[str] = frozenset()
    at: datetime | None = None


@dataclass(frozen=True)
class Held:
    """A hold that nobody released yet."""

    key: str
    role: Role
    person: str
    reason: str
    since: datetime | None = None


@dataclass(frozen=True)
class SourceFact:
    """A source on the current picture that is not cleared."""

    code: str
    clearance: str
    since: datetime | None = None


@dataclass(frozen=True)
class Slate:
    """One item at its latest open stage."""

    stage: Stage
    standing: Standing
    lines: tuple[Line, ...]
    live: dict[Facet, Given] = field(default_factory=dict)
    notes: tuple[NoteFact, ...] = ()
    holds: tuple[Held, ...] = ()
    checksum: str = ""
    text_version: int = 0
    unruled_pairs: int = 0
    open_clashes: int = 0
    lapsed: dict[Facet, str] = field(default_factory=dict)
    uncleared: tuple[SourceFact, ...] = ()
    stops: tuple[str, ...] = ()
    checks_running: bool = False

    @property
    def must(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.asked is Asked.MUST)

    @property
    def blocking(self) -> tuple[NoteFact, ...]:
        return tuple(note for note in self.notes if note.blocks)

    @property
    def with_editor(self) -> tuple[NoteFact, ...]:
        return tuple(note for note in self.notes if note.state == "with editor")

    @property
    def listed(self) -> frozenset[str]:
        """Notes that a live OK as corrected lists."""
        return frozenset().union(*(given.listed for given in self.live.values()))

    @property
    def listed_checks(self) -> frozenset[str]:
        """Checks at stop that a live OK as corrected lists."""
        return frozenset().union(*(given.checks for given in self.live.values()))

    def line_for(self, facet: Facet) -> Line | None:
        return next((line for line in self.lines if line.facet is facet), None)

    def missing(self) -> tuple[Line, ...]:
        """Must lines without a live initial, in group order."""
        return tuple(line for line in self.must if line.facet not in self.live)

    def before(self, line: Line) -> tuple[Line, ...]:
        """Must lines of earlier groups that are not live yet."""
        if line.group == 0:
            return ()
        return tuple(other for other in self.missing() if 0 < other.group < line.group)
