"""A sitting as an open page takes it: state, seats, events; all as one reader may know."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from typing import Any

from accounts.models import Person
from board.books.models import Book
from board.books.queries import Pencil, pencils
from board.daybook.actions import this_moment
from board.daybook.rules import Happened
from board.permits import Role
from board.sittings.models import Sitting
from board.sittings.queries import waiting_told
from board.sittings.rules import MOST_MISSED, SEAT_WARM_S
from board.slips.queries.events import Event, Record
from board.tissue.models import Note
from board.tissue.queries import note_told, sees

Told = dict[str, Any]
CARRIED = ("decision", "word", "ruled_by", "remark", "to")


@dataclass(frozen=True)
class Reader:
    """Who reads, by which credits."""

    person: Person
    roles: frozenset[Role]


def sight_of(reader: Reader, book: Book) -> str:
    """Names what decides a reader's numbers; with another sight they count anew."""
    told = [reader.person.key, *sorted(reader.roles), str(book.notes_at_once)]
    return sha256("|".join(told).encode()).hexdigest()[:16]


def state_of(sitting: Sitting) -> Told:
    """What a page needs to take up the sitting where it is; the same for everybody."""
    return {
        "type": "state",
        "standing": sitting.standing.value,
        "chair": sitting.chair.key,
        "turn": {
            "number": sitting.looks,
            "item": sitting.now_item.key if sitting.now_item else "",
            "look": sitting.look,
            "reading": bool(sitting.reading),
        },
        "began": sitting.reading.get("began", 0),
        "seats": seats_told(sitting),
        "waiting": waiting_told(sitting) if sitting.opened_at else [],
    }


def seats_told(sitting: Sitting) -> list[Told]:
    """Who sits here now, in the order they came, each with their pencil."""
    warm = this_moment() - timedelta(seconds=SEAT_WARM_S)
    rows = sitting.seats.filter(left_at=None, seen_at__gte=warm)
    drawn = pencils(sitting.book)
    return [
        seat_told(seat.person, drawn, follows=seat.follows)
        for seat in rows.select_related("person").order_by("came_at", "pk")
    ]


def seat_told(person: Person, drawn: Mapping[str, Pencil], *, follows: bool) -> Told:
    """A person as the line of initials draws them."""
    pencil = drawn.get(person.key) or Pencil(0, "plain", person.initials, person.name)
    return {
        "key": person.key,
        "name": person.name,
        "initials": person.initials,
        "hue": pencil.hue,
        "line": pencil.line,
        "follows": follows,
    }


def missed(
    sitting: Sitting, reader: Reader, record: Record, *, since: int, sight: str
) -> tuple[Told, list[Told]]:
    """The state, and the events after the reader's number `since`.

    With no number, another sight or a long absence it is a fresh whole state: the page
    then draws everything anew and counts on from the number told.
    """
    now_sight = sight_of(reader, sitting.book)
    whole: list[Event] = []
    known = sight == now_sight and since >= 0
    if known:
        whole, total = record.told(
            reader.person, reader.roles, since=since, limit=MOST_MISSED + 1
        )
    else:
        _, total = record.told(reader.person, reader.roles, since=0, limit=0)
    fresh = not known or since > total or total - since > MOST_MISSED
    state = state_of(sitting) | {
        "sight": now_sight,
        "fresh": fresh,
        "number": total if fresh else since,
        "head": total,
    }
    events = [] if fresh else events_told(whole, record, reader)
    return state, events


@dataclass(frozen=True)
class Drawing:
    """For whom an event is drawn, and with which pencils."""

    reader: Reader
    book: Book
    pencils: Mapping[str, Pencil]


def events_told(events: list[Event], record: Record, reader: Reader) -> list[Told]:
    """Events with what a page draws at once: a note's words and place, a decision."""
    to = Drawing(reader, record.book, record.pencils)
    return [
        event_told(event, record.about.notes.get(event.note), to) for event in events
    ]


def event_told(event: Event, note: Note | None, to: Drawing) -> Told:
    """One event under the reader's own number."""
    told: Told = {
        "type": "event",
        "number": event.number,
        "kind": event.kind,
        "at": event.at.isoformat(),
        "by": event.initials,
        "who": event.who,
        "sentence": event.sentence,
        "item": event.item,
    }
    if event.kind in {Happened.DECIDED, Happened.CHAIR_HANDED}:
        told |= {name: event.kept[name] for name in CARRIED if name in event.kept}
    reader = to.reader
    if note is not None and sees(note, reader.person, to.book, reader.roles):
        told["note"] = note_told(note, reader.person, reader.roles, to.pencils)
    return told
