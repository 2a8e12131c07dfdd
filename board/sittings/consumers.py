"""The live line of a sitting: events under the reader's own number, looks, pointers."""

import asyncio
import json
import time
from typing import Any
from urllib.parse import parse_qs

from channels.db import database_sync_to_async
from channels.layers import get_channel_layer

from board.errors import BoardError, NotFound, NotUnderstood
from board.sittings.actions.holding import look_at
from board.sittings.actions.seats import leave_seat, take_seat
from board.sittings.actions.telling import as_told
from board.sittings.models import Sitting
from board.sittings.queries import sitting_for
from board.sittings.queries.state import (
    Drawing,
    Reader,
    Told,
    event_told,
    events_told,
    missed,
    seats_told,
    sight_of,
)
from board.sittings.rules import (
    LONGEST_MESSAGE,
    POINTS_A_SECOND,
    Allowance,
    TooMuch,
    read_point,
)
from board.slips.consumers.hub import Hub
from board.slips.consumers.line import CLOSE, BookLine
from board.slips.queries.events import Event, Record, event_of
from board.slips.queries.news import News
from board.slips.queries.record import Known

BEAT_S = 20.0
GATHER_S = 0.25  # seats that change together are told together
UNREAD = 8  # messages that are not understood, until the line is shut


class SittingLine(BookLine):
    """One open page of a sitting."""

    sitting: Sitting
    _beats: asyncio.Task[None] | None = None

    def enter(self) -> None:
        """Find book and sitting."""
        super().enter()
        self.sitting = sitting_for(
            self.person, self.scope["url_route"]["kwargs"]["sitting"]
        )
        if self.sitting.book_id != self.book.pk:
            raise NotFound

    async def begin(self) -> None:
        """Tell the state and what was missed; sit down."""
        asked = parse_qs(self.scope.get("query_string", b"").decode("latin-1"))
        since = asked.get("since", ["-1"])[0]
        self._allowed = Allowance(a_second=25, at_once=60)
        self._points = Allowance(a_second=POINTS_A_SECOND, at_once=POINTS_A_SECOND)
        self._unread = 0
        await self._catch_up(
            int(since) if since.isdecimal() and len(since) < 10 else -1,
            asked.get("sight", [""])[0],
        )
        self._beats = Hub.here().do(self._beat())

    async def disconnect(self, code: int) -> None:
        """Hang up and leave the seat, unless the person has another page open."""
        await super().disconnect(code)
        if self._beats is None:
            return
        self._beats.cancel()
        others = Hub.here().lines.get(self.book.key, ())
        if not any(_sits(line, self) for line in others):
            await database_sync_to_async(leave_seat)(
                by=self.person, sitting=self.sitting
            )

    async def _catch_up(self, since: int, sight: str) -> None:
        """Tell the state anew and what this page missed; the hub waits meanwhile."""
        begun = self.pause()
        record, state, events = await database_sync_to_async(self._missed)(since, sight)
        if self.round != begun:
            return
        self._say(state)
        for event in events:
            self._say(event)
        self.number, self.entry = state["head"], record.head
        if record.head < Hub.here().known.get(self.book.key, 0):
            await Hub.here().count(self.book, [self])

    def _missed(self, since: int, sight: str) -> tuple[Record, Told, list[Told]]:
        self.enter()
        take_seat(by=self.person, sitting=self.sitting)
        record = Record(self.book)
        told = missed(self.sitting, self._reader, record, since=since, sight=sight)
        return record, *told

    @property
    def _reader(self) -> Reader:
        return Reader(self.person, self.roles)

    async def _beat(self) -> None:
        """Tell now and then that the line is there, and that somebody sits here."""
        spread = (hash(self.person.key) % 100) / 100  # so that not all beat at once
        await asyncio.sleep(BEAT_S * spread)
        while True:
            await asyncio.sleep(BEAT_S)
            try:
                await database_sync_to_async(self._still_here)()
            except BoardError as problem:
                self.end(CLOSE + problem.status)
                return
            if self.entry != Hub.here().known.get(self.book.key):
                # Something went wrong on the way here: the record knows.
                await self._catch_up(self.number, sight_of(self._reader, self.book))
            self._say({"type": "head", "number": self.number})

    def _still_here(self) -> None:
        self.person.refresh_from_db(fields=["is_active"])
        if not self.person.is_active:
            raise NotFound
        sitting = sitting_for(self.person, self.sitting.key)
        take_seat(by=self.person, sitting=sitting)

    def _say(self, told: Told) -> None:
        self.say(_written(told))

    # ------------------------------------------------------------------ what is heard

    def wants_count(self, news: News) -> bool:
        """After a gap, or when older entries became known, the whole record counts."""
        return self.entry is not None and (news.releases or news.after > self.entry)

    def counted(self, record: Record, events: list[Event], total: int) -> None:
        """Tell what the whole record holds beyond this reader's number."""
        for told in events_told(events, record, self._reader):
            self._say(told)
        self.number, self.entry = total, record.head

    def see_anew(self, roles: frozenset[Any]) -> None:
        """With other credits, or a book set up anew, everything is told afresh."""
        super().see_anew(roles)
        if roles:
            self.pause()
            Hub.here().do(self._catch_up(-1, ""))

    def hear(self, news: News) -> None:
        """Tell what was entered, under this reader's next numbers."""
        if self.entry is None:
            return
        known = Known.by(self.person, news.book, self.roles, news.about)
        to = Drawing(self._reader, news.book, news.pencils)
        told_as = news.told_as(self.person.key)
        for entry in news.entries:
            if entry.number > self.entry and known.may(entry):
                self.number += 1
                same = (entry.number, self.number, self.roles, told_as)
                if same not in news.texts:
                    event = event_of(self.number, entry, known)
                    told = event_told(event, news.about.notes.get(event.note), to)
                    news.texts[same] = _written(told)
                self.say(news.texts[same])
        self.entry = news.head

    def told(self, message: dict[str, Any]) -> None:
        """Pass on looks and pointers of this sitting; gather changes of seats."""
        if message.get("sitting") != self.sitting.key:
            return
        if message["kind"] == "seats":
            self._tell_seats_soon()
        elif message.get("but") != self.person.key:
            self.say(message["text"])

    def _tell_seats_soon(self) -> None:
        hub = Hub.here()
        if self.sitting.key not in hub.soon:
            hub.soon.add(self.sitting.key)
            hub.do(_tell_seats(hub, self.book.key, self.sitting))

    # ------------------------------------------------------------------- what is said

    async def receive(self, text_data: str | None = None, **_more: Any) -> None:
        """Take a message; too long, too many or never understood shuts the line."""
        if text_data is None or len(text_data) > LONGEST_MESSAGE:
            self.end(CLOSE + 413)
            return
        try:
            if not self._allowed.takes(time.monotonic()):
                raise TooMuch
            await self._take(_read(text_data))
        except TooMuch as problem:
            self.end(CLOSE + problem.status)
        except BoardError as problem:
            self._unread += 1
            told = {"type": "refused", "status": problem.status, "says": problem.says}
            self._say(told)
            if self._unread >= UNREAD:
                self.end(CLOSE + problem.status)

    async def _take(self, said: Told) -> None:
        ways = {
            "pointer": self._point,
            "look": self._look,
            "follow": self._follow,
            "missed": self._ask,
        }
        way = ways.get(str(said.get("type")))
        if way is None:
            raise NotUnderstood(
                "This page speaks of something the board does not know."
            )
        await way(said)

    async def _point(self, said: Told) -> None:
        """Show this person's pencil tip to the others; too many are dropped."""
        x, y = read_point(said)
        item = said.get("item")
        if not isinstance(item, str) or len(item) > 16:
            raise NotUnderstood("A pencil tip points at an item.")
        if self._points.takes(time.monotonic()):
            told = {"type": "pointer", "by": self.person.key, "item": item}
            await self._tell_all(
                told | {"x": round(x, 4), "y": round(y, 4)}, but=self.person.key
            )

    async def _look(self, said: Told) -> None:
        """Keep the chair's look; it comes back to every page, the chair's too."""
        await database_sync_to_async(look_at)(
            by=self.person, sitting=self.sitting, told=said
        )

    async def _follow(self, said: Told) -> None:
        """Say whether this person follows the chair or looks by themselves."""
        await database_sync_to_async(take_seat)(
            by=self.person, sitting=self.sitting, follows=said.get("on") is True
        )

    async def _ask(self, said: Told) -> None:
        """Tell what the page missed after its number."""
        since = said.get("since")
        if not isinstance(since, int) or isinstance(since, bool) or since < 0:
            raise NotUnderstood("Ask for what was missed by your last number.")
        await self._catch_up(since, sight_of(self._reader, self.book))

    async def _tell_all(self, told: Told, **more: str) -> None:
        message = as_told(self.book.key, self.sitting.key, told) | more
        await get_channel_layer().group_send(f"book-{self.book.key}", message)


def _written(told: Told) -> str:
    return json.dumps(told, separators=(",", ":"))


def _read(text: str) -> Told:
    """A message as a page writes it: an object in JSON."""
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        said = None
    if not isinstance(said, dict):
        raise NotUnderstood("That is no message of this page.")
    return said


def _sits(line: Any, with_: SittingLine) -> bool:  # any line of the hub
    return (
        isinstance(line, SittingLine)
        and line.sitting.pk == with_.sitting.pk
        and line.person.pk == with_.person.pk
    )


async def _tell_seats(hub: Hub, book_key: str, sitting: Sitting) -> None:
    """Tell every page of this process who sits here, once for many changes."""
    await asyncio.sleep(GATHER_S)
    hub.soon.discard(sitting.key)
    seats = await database_sync_to_async(seats_told)(sitting)
    text = _written({"type": "seats", "seats": seats})
    for line in tuple(hub.lines.get(book_key, ())):
        if isinstance(line, SittingLine) and line.sitting.pk == sitting.pk:
            line.say(text)
