"""Entering things in the record; nothing else broadcasts."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from board.daybook.models import Entry, NameInRecord
from board.daybook.queries import as_chained
from board.daybook.rules import START, Happened, link


@dataclass(frozen=True)
class Page:
    """What an entry is about, in plain values."""

    book_key: str
    item_key: str = ""
    stage: str = ""
    about_key: str = ""
    checksum: str = ""
    text_version: int | None = None
    details: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Writer:
    """Who wrote it; the empty writer is the board itself."""

    key: str = ""
    name: str = ""
    initials: str = ""
    role: str = ""


THE_BOARD = Writer()
_replayed: ContextVar[datetime | None] = ContextVar("replayed", default=None)


def this_moment() -> datetime:
    """The moment an act happens at: now, or the calendar's when it is replayed."""
    return _replayed.get() or datetime.now(UTC)


@contextmanager
def replayed_at(moment: datetime) -> Iterator[None]:
    """Replay acts as of a moment in the past; only a loader does this."""
    token = _replayed.set(moment)
    try:
        yield
    finally:
        _replayed.reset(token)


Listener = Callable[[Entry], None]
_listeners: list[Listener] = []


def listen(listener: Listener) -> None:
    """Have the listener told of each entry, after its transaction is safe."""
    if listener not in _listeners:
        _listeners.append(listener)


def enter(
    happened: Happened,
    page: Page,
    *,
    by: Writer = THE_BOARD,
    event: str = "",
    now: datetime | None = None,
) -> Entry:
    """Add an entry to the book's chain, within the caller's transaction.

    The caller holds the book's row locked (or is the only writer, as on SQLite), so
    numbers have no holes.
    """
    last = Entry.objects.filter(book_key=page.book_key).order_by("-number").first()
    entry = Entry(
        **asdict(page),
        number=last.number + 1 if last else 1,
        kind=happened.value,
        at=now or this_moment(),
        by_key=by.key,
        role=by.role,
        event=event,
        chained_to=last.chain if last else START,
    )
    entry.chain = link(as_chained(entry))
    entry.save(force_insert=True)
    know(by)
    transaction.on_commit(lambda: _tell(entry))
    return entry


def know(person: Writer) -> None:
    """Have the record know a person's name, who acts in it or is named in it."""
    if person.key:
        NameInRecord.objects.get_or_create(
            person_key=person.key,
            defaults={"name": person.name, "initials": person.initials},
        )


def _tell(entry: Entry) -> None:
    for listener in _listeners:
        listener(entry)


def erase_name(person_key: str) -> None:
    """Take a person's name out of the record; the chain stays whole."""
    NameInRecord.objects.filter(person_key=person_key).update(
        name="a person erased at their wish", initials="?"
    )
