"""By which day something is wanted, and how that is said.

The days are common practice, no source: a look of the house 7 to 10, the author's 4
to 7, a revision from its notes 10 to 15, last corrections 5 to 10. They are plain days;
a book's settings change them. Time alone never makes an initial.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from board.books.rules import Standing
from board.permits import Role
from board.slips.rules.stations import Line


@dataclass(frozen=True)
class Spacing:
    """Days between a thing lying there and being wanted back."""

    house: int = 10
    author: int = 7
    artist: int = 15
    corrections: int = 10


def line_due(line: Line, since: date, spacing: Spacing) -> date:
    """The day an initial is wanted on a line that could be given since then."""
    days = spacing.author if line.station is Role.AUTHOR else spacing.house
    return since + timedelta(days=days)


def artist_due(
    standing: Standing, since: date, spacing: Spacing, agreed: date | None
) -> date | None:
    """The day a revision is wanted; what was agreed at the stage's start goes first.

    An agreed day that lay before the item came back is not counted any more.
    """
    if standing is Standing.OK_AS_CORRECTED:
        return since + timedelta(days=spacing.corrections)
    if standing not in {Standing.AT_THE_TABLE, Standing.RETURNED}:
        return None
    at_first = standing is Standing.AT_THE_TABLE
    if agreed is not None and at_first and agreed >= since:
        return agreed
    return since + timedelta(days=spacing.artist)


def day_told(day: date, today: date) -> str:
    """A day as people say it; the year only when it is another."""
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {day:%B}{year}"


def due_told(due: date, today: date) -> str:
    """When it is due, in words that say also when it is late."""
    left = (due - today).days
    if left < 0:
        days = "1 day" if left == -1 else f"{-left} days"
        return f"overdue by {days}, since {day_told(due, today)}"
    if left < 2:
        return ("due today", "due tomorrow")[left]
    return f"due {day_told(due, today)}"
