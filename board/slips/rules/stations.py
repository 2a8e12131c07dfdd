"""Who is asked for which facet at which stage, in which group.

These tables are common practice put in order; no open standard for a sign-off record
was found.
"""

from dataclasses import dataclass
from enum import StrEnum

from board.books.rules import STAGES, Stage
from board.permits import Facet, Role


class Asked(StrEnum):
    MUST = "must"
    TOLD = "told"
    NOT = "not asked"


BESIDE = 0  # rights work beside all groups and block only the OK
M, T, N = Asked.MUST, Asked.TOLD, Asked.NOT


@dataclass(frozen=True)
class Line:
    """One line of a slip: whose initial, for which facet, how it is asked."""

    station: Role
    facet: Facet
    asked: Asked
    group: int


Table = tuple[tuple[Role, Facet, int, tuple[Asked, Asked, Asked, Asked]], ...]

HOUSE: Table = (
    (Role.DESIGNER, Facet.FIT, 1, (T, M, T, M)),
    (Role.EDITOR, Facet.STORY, 1, (M, M, T, M)),
    (Role.PRODUCTION, Facet.PRESS, 1, (N, T, N, M)),
    (Role.ART_DIRECTOR, Facet.ART, 2, (M, M, M, M)),
    (Role.AUTHOR, Facet.WORDS, 3, (T, M, T, M)),
    (Role.RIGHTS, Facet.CLEARANCE, BESIDE, (N, T, T, M)),
)
STUDIO: Table = (
    (Role.ART_DIRECTOR, Facet.ART, 1, (M, M, M, M)),
    (Role.PRODUCTION, Facet.PRESS, 1, (N, T, N, M)),
    (Role.PRODUCTION, Facet.CLEARANCE, 1, (N, T, N, M)),
    (Role.AUTHOR, Facet.WORDS, 2, (T, M, T, M)),
    (Role.AUTHOR, Facet.STORY, 2, (T, M, T, M)),
    (Role.AUTHOR, Facet.FIT, 2, (T, M, T, M)),
)


def lines_at(
    stage: Stage, *, studio: bool = False, author_approves: bool = True
) -> tuple[Line, ...]:
    """The slip's lines at a stage, in the order they are asked."""
    place = STAGES.index(stage)
    lines = []
    for station, facet, group, asked in STUDIO if studio else HOUSE:
        how = asked[place]
        if station is Role.AUTHOR and not author_approves and how is M:
            how = T
        lines.append(Line(station, facet, how, group))
    return tuple(lines)
