"""The author's letter: one item, told to her from her last look on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Book, Item, ItemText
from board.books.queries import books_for, items_of_book, roles_of
from board.books.rules.wording import Run, compared
from board.daybook.actions import this_moment
from board.permits import Act, Facet, may
from board.revisions.models import Revision
from board.revisions.queries import called, currents
from board.slips.queries.due import today_of
from board.slips.queries.lines import SlipLine
from board.slips.queries.waiting import waiting_for
from board.slips.rules.due import due_told
from board.tissue.models import Note
from board.tissue.queries.asking import ChangeSeen, Ledger, ledger_for
from board.viewing.models import Looked
from board.viewing.queries import Room, Row, crop_of, room_for
from board.viewing.rules import Crop

State = Note.State


@dataclass(frozen=True)
class Asked:
    """A note of hers and what became of it."""

    row: Row
    fate: str

    @property
    def note(self) -> Note:
        return self.row.note


@dataclass(frozen=True)
class Change:
    """A measured change, as a line of the letter."""

    seen: ChangeSeen
    says: str
    crop: Crop


@dataclass(frozen=True)
class Since:
    """What is different from what she saw last; empty at her first look."""

    at: datetime
    revision: Revision | None
    new_picture: bool
    ledger: Ledger | None
    changes: tuple[Change, ...]
    words: tuple[Run, ...]

    @property
    def called(self) -> str:
        return called(self.revision) if self.revision else "no picture"


@dataclass(frozen=True)
class Letter:
    """One item's letter."""

    room: Room
    asked: tuple[Asked, ...]
    line: SlipLine | None
    since: Since | None
    may_initial: bool


@dataclass(frozen=True)
class Enclosed:
    """An item in the list of letters."""

    item: Item
    stage: str
    waits: tuple[str, ...]
    due: str
    fresh: bool


def letter_for(person: Person, item: Item) -> Letter:
    """Gather the letter; only what the author may know of goes in."""
    room = room_for(person, item)
    own = [row for row in room.rows if row.note.by_id == person.pk]
    own.sort(key=lambda row: row.note.raised_at, reverse=True)
    return Letter(
        room=room,
        asked=tuple(Asked(row, fate_of(row.note)) for row in own),
        line=next((one for one in room.lines if one.facet == Facet.WORDS), None),
        since=since_last(person, item, room),
        may_initial=f"initial:{Facet.WORDS.value}" in room.acts and bool(room.receipt),
    )


def fate_of(note: Note) -> str:
    """What became of a note of hers, in a sentence."""
    by = note.ended_by.name if note.ended_by else "the house"
    if note.state == State.OPEN and note.issued_at:
        if note.answer:
            return f"Answered: {note.answer}. It is being looked at."
        return f"It went to the artist as line {note.line}."
    merged = note.merged_into
    into = (
        "another note of yours" if merged and merged.by_id == note.by_id else "a note"
    )
    return {
        State.WITH_EDITOR: "It waits with the editor.",
        State.OPEN: "It was passed on; the house looks at it with its own.",
        State.LATE: "It came after the OK and waits for the art director.",
        State.STANDS: "It stands: printed first, so that it is not touched.",
        State.DONE: f"Done, and looked at by {by}.",
        State.ANSWERED: f"Answered, says {by}.",
        State.STET: f"Stet, let it stand, rules {by}.",
        State.WITHDRAWN: "Withdrawn.",
        State.DECLINED: f"Not passed on, says {by}.",
        State.MERGED: f"Put together with {into} that asks the same.",
        State.NOTED: "Noted.",
        State.LEFT: "Left to the artist.",
    }[State(note.state)]


def since_last(person: Person, item: Item, room: Room) -> Since | None:
    """What changed since the look before this one; None at the first."""
    shown = room.shown.current
    now = (shown.pk if shown else None, room.text.text.number if room.text else 0)
    looks = Looked.objects.filter(person=person, item=item).select_related("revision")
    before = [one for one in looks if (one.revision_id, one.text_version) != now]
    if not before:
        return None
    last = max(before, key=lambda one: (one.at, one.pk))
    new_picture = shown is not None and last.revision_id != shown.pk
    ledger = None
    if new_picture and last.revision is not None and shown is not None:
        last.revision.item = item
        ledger = ledger_for(person, last.revision, shown)
    words: tuple[Run, ...] = ()
    if last.text_version != now[1]:
        words = tuple(compared(words_at(item, last.text_version), words_of(room.text)))
    return Since(
        at=last.at,
        revision=last.revision,
        new_picture=new_picture,
        ledger=ledger,
        changes=_changes(item, ledger),
        words=words,
    )


def words_at(item: Item, number: int) -> str:
    """The item's words as they were in a text version."""
    rows = item.texts.filter(text__number__lte=number).order_by("-text__number")
    return words_of(rows.first())


def words_of(text: ItemText | None) -> str:
    return text.words if text else ""


def _changes(item: Item, ledger: Ledger | None) -> tuple[Change, ...]:
    if ledger is None or not ledger.ready or not ledger.colour:
        return ()
    return tuple(
        Change(one, _says(item, one), crop_of(item, one.region))
        for one in ledger.changes
    )


def _says(item: Item, change: ChangeSeen) -> str:
    wide = change.region.width * item.width_mm
    high = change.region.height * item.height_mm
    across = change.region.x + change.region.width / 2
    down = change.region.y + change.region.height / 2
    side = "left" if across < 0.38 else "right" if across > 0.62 else "middle"
    height = "top" if down < 0.34 else "foot" if down > 0.66 else "half way down"
    asked = "asked for" if change.asked else "not asked for"
    return f"{side}, {height}: {wide:.0f} x {high:.0f} mm, {asked}"


def letters_of(person: Person) -> list[tuple[Book, list[Enclosed]]]:
    """Her items by book: those that wait for her or show what she has not seen."""
    books = [
        book
        for book in books_for(person)
        if may(Act.READ_LETTER, roles_of(person, book))
    ]
    waiting = waiting_for(person, books)
    looked = _looked(person, books)
    today = today_of(person, this_moment())
    found = []
    for book in books:
        shown = currents(book)
        enclosed = []
        for item in items_of_book(book):
            mine = [one for one in waiting if one.item.pk == item.pk]
            revision = shown.get(item.pk)
            fresh = revision is not None and revision.pk not in looked
            if not mine and not fresh:
                continue
            due = min((one.due for one in mine if one.due), default=None)
            enclosed.append(
                Enclosed(
                    item=item,
                    stage=called(revision) if revision else "",
                    waits=tuple(one.why for one in mine),
                    due=due_told(due, today) if due else "",
                    fresh=fresh,
                )
            )
        found.append((book, enclosed))
    return found


def _looked(person: Person, books: Sequence[Book]) -> frozenset[int]:
    rows = Looked.objects.filter(person=person, item__book__in=books)
    return frozenset(pk for pk in rows.values_list("revision", flat=True) if pk)
