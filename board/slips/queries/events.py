"""What happened, numbered for one reader in the order they could learn of it.

A note that went out on a sheet took place before the sheet, yet its reader hears of it
with the sheet: sorted so, nothing is ever slipped in between numbers already given,
and no gap says that something was withheld.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from accounts.models import Person
from board.books.models import Book
from board.books.queries import pencils, roles_of
from board.daybook.models import Entry
from board.daybook.queries import entries_of, head_of
from board.daybook.rules import Happened
from board.permits import Role, is_house, sees_waiting_author_notes
from board.slips.queries.record import ABOUT_NOTES, Known, read_about, sentence
from board.tissue.models import Note, SheetLine

TRIES = 5


@dataclass(frozen=True)
class Event:
    """One thing that happened; `number` is this reader's own count.

    `kept` is what the entry keeps beside its sentence: for rooms that know its kind,
    never for a reader as it is.
    """

    number: int
    kind: str
    at: datetime
    who: str
    initials: str
    sentence: str
    item: str
    stage: str
    note: str
    short_code: str
    text_version: int | None
    kept: dict[str, Any]


def events_for(
    person: Person, book: Book, *, since: int, limit: int
) -> tuple[list[Event], int]:
    """Events after the reader's number `since`, and how many there are in all."""
    return Record(book).told(person, roles_of(person, book), since=since, limit=limit)


class Record:
    """A book's whole record with its notes, read once and told to many readers.

    `head` is the number of its last entry. Notes are read after the entries and may
    know more than they do: if anything was entered meanwhile, all is read again.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        for _ in range(TRIES):
            self.rows = list(entries_of(book.key))
            self.head = self.rows[-1].number if self.rows else 0
            self.about = read_about(book, self.rows)
            self.when = _When(self.rows)
            if head_of(book.key) == self.head:
                break
        self.pencils = pencils(book)

    def told(
        self, person: Person, roles: frozenset[Role], *, since: int, limit: int
    ) -> tuple[list[Event], int]:
        """Give a reader's events after their number `since`, and how many in all."""
        known = Known.by(person, self.book, roles, self.about)
        learnt = _Learnt(known, self.when)
        seen = [entry for entry in self.rows if known.may(entry)]
        seen.sort(key=lambda entry: (learnt.at(entry), entry.number))
        page = list(enumerate(seen, start=1))[since : since + limit]
        return [event_of(number, entry, known) for number, entry in page], len(seen)


def event_of(number: int, entry: Entry, known: Known) -> Event:
    """An entry as this reader's event."""
    writer = known.people.get(entry.by_key)
    return Event(
        number=number,
        kind=entry.kind,
        at=entry.at,
        who=writer.name if writer else "the board",
        initials=writer.initials if writer else "",
        sentence=sentence(entry, known),
        item=entry.item_key,
        stage=entry.stage,
        note=entry.about_key if entry.about_key in known.notes else "",
        short_code=f"{entry.checksum[:4]} {entry.checksum[4:8]}".strip(),
        text_version=entry.text_version,
        kept=entry.details,
    )


class _When:
    """At which entry each note was passed on, and first issued."""

    def __init__(self, rows: Iterable[Entry]) -> None:
        self.passed: dict[str, int] = {}
        self.issued: dict[str, int] = {}
        sheets: dict[str, int] = {}
        for entry in rows:
            if entry.kind == Happened.PASSED_ON:
                self.passed.setdefault(entry.about_key, entry.number)
            elif entry.kind == Happened.SHEET_ISSUED:
                sheets[entry.about_key] = entry.number
        lines = SheetLine.objects.filter(sheet__key__in=sheets)
        for note, sheet in lines.values_list("note__key", "sheet__key"):
            self.issued[note] = min(sheets[sheet], self.issued.get(note, sheets[sheet]))


class _Learnt:
    """At which entry of the record one reader learnt of each note."""

    def __init__(self, known: Known, when: _When) -> None:
        self.known = known
        self.passed, self.issued = when.passed, when.issued

    def at(self, entry: Entry) -> int:
        """The number of the entry with which this reader could know of this one."""
        if entry.kind not in ABOUT_NOTES:
            return entry.number
        keys = [entry.about_key, str(entry.details.get("other", ""))]
        notes = [self.known.notes[key] for key in keys if key in self.known.notes]
        return max([entry.number, *(self._note(note) for note in notes)])

    def _note(self, note: Note) -> int:
        roles, book = self.known.roles, self.known.book
        if note.by_id == self.known.person.pk:
            return 0
        passed = 0
        if note.role == Role.AUTHOR and not sees_waiting_author_notes(roles):
            passed = self.passed.get(note.key, 0)
        if is_house(roles) or book.notes_at_once:
            return passed
        return max(passed, self.issued.get(note.key, 0))
