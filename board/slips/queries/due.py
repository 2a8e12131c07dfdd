"""Due days of an item's lines and of the artist, by the book's settings."""

from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings

from accounts.models import Person
from board.books.models import Book, ItemStage
from board.books.rules import Standing
from board.slips.rules.due import Spacing, artist_due, line_due
from board.slips.rules.slate import Slate
from board.slips.rules.stations import Asked, Line


def spacing_of(book: Book) -> Spacing:
    """The book's days."""
    return Spacing(
        book.days_house, book.days_author, book.days_artist, book.days_corrections
    )


def zone_of(person: Person) -> ZoneInfo:
    """The person's clock, or the board's own."""
    try:
        return ZoneInfo(person.time_zone or settings.TIME_ZONE)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo(settings.TIME_ZONE)


def today_of(person: Person, now: datetime) -> date:
    """The day it is where the person is."""
    return now.astimezone(zone_of(person)).date()


def _board_day(moment: datetime) -> date:
    """A due day is the same for everybody, so the board's clock says it."""
    return moment.astimezone(ZoneInfo(settings.TIME_ZONE)).date()


def due_of_line(
    line: Line, slate: Slate, row: ItemStage | None, book: Book
) -> date | None:
    """The day this line is wanted; none while it is given or others go first."""
    if row is None or row.since is None or slate.standing is not Standing.HUNG:
        return None
    if line.asked is Asked.NOT or line.facet in slate.live or slate.before(line):
        return None
    earlier = [
        given.at
        for other in slate.must
        if 0 < other.group < line.group
        and (given := slate.live.get(other.facet)) is not None
        and given.at is not None
    ]
    return line_due(line, _board_day(max([row.since, *earlier])), spacing_of(book))


def due_of_artist(slate: Slate, row: ItemStage | None, book: Book) -> date | None:
    """The day the artist's next revision is wanted."""
    if row is None or row.since is None:
        return None
    since = _board_day(row.since)
    return artist_due(slate.standing, since, spacing_of(book), row.due)


def next_due(slate: Slate, row: ItemStage | None, book: Book) -> date | None:
    """The first day on which anything is wanted of anybody here."""
    days = [due_of_line(line, slate, row, book) for line in slate.missing()]
    days.append(due_of_artist(slate, row, book))
    return min((day for day in days if day is not None), default=None)
