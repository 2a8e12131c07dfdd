"""What can wait for a person, by kind."""

from dataclasses import dataclass
from enum import StrEnum

from board.permits import Facet


class Kind(StrEnum):
    """Why an item lies on somebody's desk."""

    LINES = "lines to answer"
    REVISION = "a revision to send up"
    CORRECTIONS = "small corrections"
    PASS_ON = "an author's note to pass on or decline"  # noqa: S105  # not a password
    PAIR = "pairs to rule"
    SHEET = "a note sheet to issue"
    SOURCE = "a source that turned"
    QUERY = "a query to answer"
    LOOK = "answered lines to look at"
    INITIAL = "an initial"


ARTISTS = frozenset({Kind.LINES, Kind.REVISION, Kind.CORRECTIONS})


@dataclass(frozen=True)
class Want:
    """One thing that is wanted of somebody, in words.

    `last` says that nothing but this person keeps the item from OK.
    """

    kind: Kind
    why: str
    facet: Facet | None = None
    last: bool = False
