"""What a measure means: clear, warn or stop, with figure, limit and the limit's source.

A stop blocks the OK at final and nothing else; at every other stage the worst is warn.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

from board.books.rules import Stage

Measures = Mapping[str, Any]
Place = dict[str, float]


class Level(StrEnum):
    """How a check came out."""

    CLEAR = "clear"
    WARN = "warn"
    STOP = "stop"
    UNKNOWN = "not known"


class Source(StrEnum):
    """Where a limit comes from."""

    BOOK = "the book's settings"
    PRACTICE = "common practice, no source"
    MEMORY = "from memory"
    WCAG = "WCAG 2.2, success criterion 1.4.3"
    OURS = "the board's own, from trials"
    ASKED = "as asked on the command line, or its usual value"


STRAIGHT_SKIP_MM, LEAST_SKIP_MM, MOST_SKIP_MM = 0.2, 0.4, 1.0
PLACE_SIDES = ("x", "y", "width", "height")


@dataclass(frozen=True)
class Terms:
    """What the measures are held against; lengths in millimetres, ink in per cent."""

    stage: Stage
    pages: tuple[int, int]
    extent: int
    sheet_mm: tuple[float, float]
    bleed_mm: float
    gutter_mm: float
    ppi_warn: int
    ppi_stop: int
    ink_limit: float
    ink_source: str
    press: str = ""
    bleed_asked_mm: float = 0.0
    bleed_source: str = Source.BOOK
    double: bool = True
    picture: tuple[int, int] = (0, 0)
    declared: str = ""
    error_bar_mm: float = 0.0
    mode: str = ""
    boxes: Sequence[Mapping[str, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class Finding:
    """One check as people read it; `places` lie on the sheet, in fractions of the trim."""

    check: str
    level: Level
    says: str
    figure: str = ""
    limit: str = ""
    source: str = ""
    estimate: bool = False
    places: list[Place] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def worst(levels: Sequence[Level]) -> Level:
    """The most serious of several, clear when there are none."""
    order = (Level.CLEAR, Level.UNKNOWN, Level.WARN, Level.STOP)
    return max(levels, key=order.index, default=Level.CLEAR)


def stops_at(stage: Stage) -> Level:
    """What a fault that cannot be printed comes to at this stage."""
    return Level.STOP if stage is Stage.FINAL else Level.WARN


def whole(ppi: float) -> int:
    """Whole pixels an inch, as they are compared: 299.6 is 300."""
    return int(ppi + 0.5)


def skip_mm(terms: Terms) -> float:
    """How far inside the bleed edge a strip may begin: as far as the laying is off."""
    if terms.declared in {"bled", "trimmed"}:
        return STRAIGHT_SKIP_MM
    return max(LEAST_SKIP_MM, min(terms.error_bar_mm, MOST_SKIP_MM))
