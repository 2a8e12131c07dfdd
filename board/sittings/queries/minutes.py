"""Minutes from what happened: nothing is typed twice; each reader's own sight."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import items_of_book, pencils, roles_of
from board.daybook.actions import this_moment
from board.permits import Act, may
from board.readings.queries import readings_of
from board.readings.rules import minutes as told_length
from board.revisions.queries import called
from board.sittings.models import Decision, Sitting, SittingItem
from board.sittings.queries import (
    Sitter,
    decisions_of,
    listed,
    newer_than_frozen,
    sitters,
)
from board.sittings.rules import clock
from board.slips.queries.slates import slates_of
from board.slips.queries.waiting import Waiting, waiting_for
from board.slips.rules.guards import why_not_issue
from board.tissue.models import Note
from board.tissue.queries import note_told, sees


@dataclass(frozen=True)
class There:
    """Somebody who sat in."""

    sitter: Sitter
    came_at: datetime
    left_at: datetime | None


@dataclass(frozen=True)
class Minute:
    """What came of one item."""

    row: SittingItem
    seconds: float
    decisions: tuple[Decision, ...]
    notes: tuple[dict[str, str], ...]
    newer: str

    @property
    def item(self) -> Item:
        return self.row.item

    @property
    def called(self) -> str:
        return called(self.row.revision) if self.row.revision else "nothing was up"

    @property
    def code(self) -> str:
        """The short code of the picture that was looked at."""
        sha = self.row.revision.sha256 if self.row.revision else ""
        return f"{sha[:4]} {sha[4:8]}".strip()

    @property
    def took(self) -> str:
        return clock(self.seconds)

    @property
    def decision(self) -> Decision | None:
        """The line that stands: the last one."""
        return self.decisions[-1] if self.decisions else None


@dataclass(frozen=True)
class Minutes:
    """The minutes of one sitting for one reader."""

    sitting: Sitting
    there: tuple[There, ...]
    absent: tuple[Sitter, ...]
    items: tuple[Minute, ...]
    readings: tuple[str, ...]

    @property
    def book(self) -> Book:
        return self.sitting.book

    @property
    def took(self) -> str:
        begin, end = self.sitting.opened_at, self.sitting.closed_at
        return clock((end - begin).total_seconds()) if begin and end else ""

    @property
    def talked(self) -> tuple[Minute, ...]:
        """Items that something came of."""
        return tuple(one for one in self.items if one.decisions or one.notes)

    @property
    def untouched(self) -> tuple[Minute, ...]:
        return tuple(one for one in self.items if not (one.decisions or one.notes))


def minutes_for(person: Person, sitting: Sitting) -> Minutes:
    """The minutes as this reader may know them, in a fixed number of queries."""
    notes = notes_in(person, sitting)
    seconds = _seconds(sitting)
    decided: dict[int, list[Decision]] = defaultdict(list)
    for decision in decisions_of(sitting):
        decided[decision.item_id].append(decision)
    newer = {row.item_id: called(one) for row, one in newer_than_frozen(sitting)}
    here, absent = attendance(sitting)
    return Minutes(
        sitting=sitting,
        there=tuple(here),
        absent=tuple(absent),
        items=tuple(
            Minute(
                row=row,
                seconds=seconds.get(row.item_id, 0.0),
                decisions=tuple(decided[row.item_id]),
                notes=tuple(notes.get(row.item_id, ())),
                newer=newer.get(row.item_id, ""),
            )
            for row in listed(sitting)
        ),
        readings=tuple(_readings(sitting)),
    )


def attendance(sitting: Sitting) -> tuple[list[There], list[Sitter]]:
    """Who sat in, and who of the house and the author did not; a chair always did."""
    seats = {seat.person_id: seat for seat in sitting.seats.all()}
    here, absent = [], []
    for one in sitters(sitting.book):
        seat = seats.get(one.person.pk)
        if seat is not None:
            here.append(There(one, seat.came_at, seat.left_at))
        elif one.person.pk != sitting.chair_id:
            absent.append(one)
    return sorted(here, key=lambda one: one.came_at), absent


def notes_in(person: Person, sitting: Sitting) -> dict[int, list[dict[str, str]]]:
    """Notes that were pinned while the sitting lasted, those this reader may see."""
    if sitting.opened_at is None:
        return {}
    book = sitting.book
    roles, drawn = roles_of(person, book), pencils(book)
    rows = Note.objects.filter(
        item__book=book,
        raised_at__gte=sitting.opened_at,
        raised_at__lte=sitting.closed_at or this_moment(),
    )
    found: dict[int, list[dict[str, str]]] = defaultdict(list)
    for note in rows.select_related("by", "item").order_by("raised_at", "pk"):
        if sees(note, person, book, roles):
            found[note.item_id].append(note_told(note, person, roles, drawn))
    return found


def _seconds(sitting: Sitting) -> dict[int, float]:
    """How long each item lay before everybody."""
    found: dict[int, float] = defaultdict(float)
    for turn in sitting.turns.all():
        end = turn.ended_at or this_moment()
        found[turn.item_id] += (end - turn.began_at).total_seconds()
    return found


def _readings(sitting: Sitting) -> list[str]:
    """Readings that were held while the sitting lasted."""
    begin = sitting.opened_at
    end = (sitting.closed_at or this_moment()) + timedelta(seconds=1)
    return [
        f"Read aloud by {one.by.name}, {told_length(one.seconds)}, "
        f"{len(one.shown)} items."
        for one in readings_of(sitting.book)
        if begin and begin <= one.ended_at <= end
    ]


def sheets_due(person: Person, sitting: Sitting) -> list[Item]:
    """Listed items whose note sheet could be issued now, for who issues them."""
    if not may(Act.ISSUE_SHEET, roles_of(person, sitting.book)):
        return []
    on_list = set(sitting.items.values_list("item", flat=True))
    items = [item for item in items_of_book(sitting.book) if item.pk in on_list]
    slates = slates_of(sitting.book, items)
    return [
        item
        for item in items
        if item.pk in slates and not why_not_issue(slates[item.pk])
    ]


def waits_for(person: Person, sitting: Sitting) -> list[Waiting]:
    """What waits for this person on the listed items."""
    on_list = set(sitting.items.values_list("item", flat=True))
    waiting = waiting_for(person, [sitting.book])
    return [one for one in waiting if one.item.pk in on_list]
