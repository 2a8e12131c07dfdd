"""Who is asked for which facet at which stage, in which group.

These tables are common practice put in order; no open standard for a sign-off record
was found.
"""

from collections.abc import Mapping, Sequence
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
    consulted: bool = (
        False  # the author's must, told instead where the contract says so
    )


FourStages = tuple[Asked, Asked, Asked, Asked]
Table = tuple[tuple[Role, Facet, int, FourStages], ...]

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


Own = Mapping[str, Sequence[str]]


def preset(*, studio: bool = False) -> Table:
    """The stations a book begins with."""
    return STUDIO if studio else HOUSE


def table_of(own: Own, *, studio: bool = False) -> Table:
    """The preset with a book's own lines in it."""
    return tuple(
        (station, facet, group, _asked(own.get(facet.value), asked))
        for station, facet, group, asked in preset(studio=studio)
    )


def _asked(own: Sequence[str] | None, usual: FourStages) -> FourStages:
    if own is None:
        return usual
    first, second, third, fourth = (Asked(word) for word in own)
    return first, second, third, fourth


def why_not_stations(own: Own, *, studio: bool) -> list[str]:
    """What is wrong with a book's own stations, in words; empty when they will do."""
    told = []
    facets = {facet.value for _, facet, _, _ in preset(studio=studio)}
    words = set(Asked)
    if not set(own) <= facets or any(
        len(asked) != len(STAGES) or not set(asked) <= words for asked in own.values()
    ):
        return ["Each facet is must, told or not asked, at each of the four stages."]
    table = {facet: asked for _, facet, _, asked in table_of(own, studio=studio)}
    if any(how is not M for how in table[Facet.ART]):
        told.append("The art line is a must at every stage: somebody looks at the art.")
    if table[Facet.CLEARANCE][-1] is not M:
        told.append("Clearance is a must at final: nobody prints an uncleared source.")
    return told


def lines_at(
    stage: Stage,
    *,
    studio: bool = False,
    author_approves: bool = True,
    own: Own | None = None,
) -> tuple[Line, ...]:
    """The slip's lines at a stage, in the order they are asked."""
    place = STAGES.index(stage)
    lines = []
    for station, facet, group, asked in table_of(own or {}, studio=studio):
        how = asked[place]
        consulted = station is Role.AUTHOR and not author_approves and how is M
        lines.append(Line(station, facet, T if consulted else how, group, consulted))
    return tuple(lines)
