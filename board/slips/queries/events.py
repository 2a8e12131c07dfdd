"""What happened, numbered for one reader in the order they could learn of it.

A note that went out on a sheet took place before the sheet, yet its reader hears of it
with the sheet: sorted so, nothing is ever slipped in between numbers already given,
and no gap says that something was withheld.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Book
from board.daybook.models import Entry
from board.daybook.queries import entries_of, names
from board.daybook.rules import Happened
from board.permits import Role, is_house, sees_waiting_author_notes
from board.slips.queries.record import ABOUT_NOTES, Known, sentence
from board.tissue.models import Note, SheetLine


@dataclass(frozen=True)
class Event:
    """One thing that happened; `number` is this reader's own count."""

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


def events_for(
    person: Person, book: Book, *, since: int, limit: int
) -> tuple[list[Event], int]:
    """Events after the reader's number `since`, and how many there are in all."""
    rows = list(entries_of(book.key))
    known = Known(person, book, rows)
    learnt = _Learnt(known, rows)
    seen = [entry for entry in rows if known.may(entry)]
    seen.sort(key=lambda entry: (learnt.at(entry), entry.number))
    page = list(enumerate(seen, start=1))[since : since + limit]
    people = names({entry.by_key for _, entry in page})
    return [
        Event(
            number=number,
            kind=entry.kind,
            at=entry.at,
            who=people[entry.by_key].name if entry.by_key in people else "the board",
            initials=people[entry.by_key].initials if entry.by_key in people else "",
            sentence=sentence(entry, known),
            item=entry.item_key,
            stage=entry.stage,
            note=entry.about_key if entry.about_key in known.notes else "",
            short_code=f"{entry.checksum[:4]} {entry.checksum[4:8]}".strip(),
            text_version=entry.text_version,
        )
        for number, entry in page
    ], len(seen)


class _Learnt:
    """At which entry of the record one reader learnt of each note."""

    def __init__(self, known: Known, rows: Iterable[Entry]) -> None:
        self.known = known
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
