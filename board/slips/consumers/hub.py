"""One ear for all live lines of a server process: it reads the record once for them.

A ring only says that there is something to read. Rings may be lost, and on the
in-memory layer those of the worker never arrive; so the hub also looks at the record's
last numbers every two seconds.
"""

import asyncio
import logging
import time
from collections import defaultdict
from collections.abc import Callable
from typing import Any, ClassVar, Protocol
from weakref import WeakKeyDictionary

from channels.db import database_sync_to_async
from channels.layers import get_channel_layer
from django.db import Error as DatabaseError

from accounts.models import Person
from board.books.models import Book
from board.daybook.queries import head_of, tops
from board.permits import Role
from board.slips.actions.announcing import EVERYBODY
from board.slips.queries.events import Event, Record
from board.slips.queries.news import News, news_of

LOOK_EVERY_S = 2.0
RECORD_KEPT_S = 5.0
Counted = tuple[list[Event], int]

logger = logging.getLogger(__name__)


class Listener(Protocol):
    """A line as the hub knows it."""

    person: Person
    book: Book
    roles: frozenset[Role]
    entry: int | None
    number: int
    round: int

    def pause(self) -> int: ...

    def wants_count(self, news: News) -> bool: ...

    def counted(self, record: Record, events: list[Event], total: int) -> None: ...

    def hear(self, news: News) -> None: ...

    def see_anew(self, roles: frozenset[Role]) -> None: ...

    def told(self, message: dict[str, Any]) -> None: ...

    def signed_out(self, session: str) -> None: ...


class Hub:
    """The lines of this process, by book."""

    _hubs: ClassVar["WeakKeyDictionary[asyncio.AbstractEventLoop, Hub]"] = (
        WeakKeyDictionary()
    )

    def __init__(self) -> None:
        self.lines: dict[str, set[Listener]] = {}
        self.known: dict[str, int] = {}
        self.soon: set[str] = set()
        self._rung: set[str] = set()
        self._passing: set[str] = set()
        self._tasks: set[asyncio.Task[None]] = set()
        self._kept: dict[str, asyncio.Task[None]] = {}
        self._records: dict[str, tuple[Record, float]] = {}
        self._channel = ""
        self._lock = asyncio.Lock()

    @classmethod
    def here(cls) -> "Hub":
        """The hub of the running loop."""
        return cls._hubs.setdefault(asyncio.get_running_loop(), cls())

    async def join(self, line: Listener) -> None:
        """Have the line told of its book; what was entered before is the line's own."""
        key = line.book.key
        async with self._lock:
            if not self.lines:
                layer = get_channel_layer()
                self._channel = await layer.new_channel("hub")
                await layer.group_add(EVERYBODY, self._channel)
                self.keep("listen", self._listen)
                self.keep("look", self._look)
            if key not in self.lines:
                await get_channel_layer().group_add(f"book-{key}", self._channel)
                self.known[key] = await database_sync_to_async(head_of)(key)
            self.lines.setdefault(key, set()).add(line)

    async def leave(self, line: Listener) -> None:
        """Tell the line nothing more."""
        key = line.book.key
        async with self._lock:
            if line not in self.lines.get(key, ()):
                return
            self.lines[key].discard(line)
            if not self.lines[key]:
                del self.lines[key], self.known[key]
                await get_channel_layer().group_discard(f"book-{key}", self._channel)
            if not self.lines:
                await get_channel_layer().group_discard(EVERYBODY, self._channel)
                for task in self._kept.values():
                    task.cancel()
                self._kept.clear()
                self._records.clear()

    def do(self, work: Any) -> asyncio.Task[None]:
        """Do something beside, and keep hold of it until it is done."""
        task: asyncio.Task[None] = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task

    def keep(self, name: str, work: Callable[[], Any]) -> None:
        """Do something beside as long as lines are open, once a process."""
        if name not in self._kept or self._kept[name].done():
            self._kept[name] = self.do(work())

    async def tell(self, message: dict[str, Any]) -> None:
        """Tell the lines of a book: of this process at once, of others by the layer."""
        self._pass_on(message)
        told = message | {"from": self._channel}
        await get_channel_layer().group_send(f"book-{message['book']}", told)

    def _pass_on(self, message: dict[str, Any]) -> None:
        for line in tuple(self.lines.get(message.get("book", ""), ())):
            line.told(message)

    def record(self, book: Book) -> Record:
        """The book's record, read once for lines that come together; asks the database.

        It is kept for some seconds only: a name that was erased makes no entry.
        """
        kept, until = self._records.get(book.key, (None, 0.0))
        fresh = kept is not None and time.monotonic() < until
        if kept is None or not fresh or kept.head != head_of(book.key):
            kept = Record(book)
            self._records[book.key] = kept, time.monotonic() + RECORD_KEPT_S
        return kept

    async def _listen(self) -> None:
        layer = get_channel_layer()
        while True:
            message = await layer.receive(self._channel)
            key = message.get("book", "")
            if message["type"] == "entered":
                self.ring(key)
            elif message["type"] == "signed.out":
                self._sign_out(message)
            elif message.get("from") != self._channel:
                self._pass_on(message)

    def _sign_out(self, message: dict[str, Any]) -> None:
        for lines in tuple(self.lines.values()):
            for line in tuple(lines):
                if line.person.key == message["person"]:
                    line.signed_out(message["session"])

    async def _look(self) -> None:
        """Find what nobody rang for."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S)
            for key, (_, until) in tuple(self._records.items()):
                if time.monotonic() > until:
                    self._records.pop(key, None)
            try:
                found = await database_sync_to_async(tops)(list(self.known))
            except DatabaseError as problem:
                logger.warning("The record could not be looked at: %s", problem)
                continue
            for key, top in found.items():
                if top > self.known.get(key, top):
                    self.ring(key)

    def ring(self, key: str) -> None:
        """Read what is new on this book, one reading after another."""
        if key not in self.lines:
            return
        self._rung.add(key)
        if key not in self._passing:
            self._passing.add(key)
            self.do(self._read(key))

    async def _read(self, key: str) -> None:
        try:
            while key in self._rung and key in self.known:
                self._rung.discard(key)
                news = await database_sync_to_async(news_of)(key, self.known[key])
                if news is not None and key in self.known:
                    self.known[key] = news.head
                    await self._give(news)
        except DatabaseError as problem:  # the next look rings again
            logger.warning("The record could not be read: %s", problem)
        finally:
            self._passing.discard(key)

    async def _give(self, news: News) -> None:
        lines = tuple(self.lines.get(news.book.key, ()))
        if news.roles is not None:
            for line in lines:
                line.see_anew(news.roles.get(line.person.pk, frozenset()))
        counting = [line for line in lines if line.wants_count(news)]
        for line in lines:
            if line not in counting:
                line.hear(news)
        if counting:
            await self.count(news.book, counting)

    async def count(self, book: Book, lines: list[Listener]) -> None:
        """Tell lines what they missed, or could not know before, by the whole record."""
        rounds = [line.pause() for line in lines]
        record, told = await database_sync_to_async(_counted)(book, lines)
        for line, begun, (events, total) in zip(lines, rounds, told, strict=True):
            if line.round == begun:  # else it is being told afresh meanwhile
                line.counted(record, events, total)
        behind: dict[str, list[Listener]] = defaultdict(list)
        for line in lines:
            if line.entry is not None and line.entry < self.known.get(book.key, 0):
                behind[book.key].append(line)
        if behind:
            await self.count(book, behind[book.key])


def _counted(book: Book, lines: list[Listener]) -> tuple[Record, list[Counted]]:
    record = Record(book)
    return record, [
        record.told(line.person, line.roles, since=line.number, limit=len(record.rows))
        for line in lines
    ]
