"""The live line of a sitting: events under the reader's own number, looks, pointers."""

import json
import time
from typing import Any
from urllib.parse import parse_qs

from channels.db import database_sync_to_async

from board.errors import BoardError, NotUnderstood
from board.sittings.actions.holding import look_at
from board.sittings.actions.seats import leave_seat, take_seat
from board.sittings.actions.telling import as_told, written
from board.sittings.consumers.seats import beats, tell_seats_soon
from board.sittings.models import Sitting
from board.sittings.queries import sitting_on
from board.sittings.queries.state import (
    Drawing,
    Reader,
    Told,
    event_told,
    events_told,
    missed,
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

UNREAD = 8  # messages that are not understood, until the line is shut


class SittingLine(BookLine):
    """One open page of a sitting."""

    sitting: Sitting
    _sat = False

    def enter(self) -> None:
        """Find book and sitting."""
        super().enter()
        key = self.scope["url_route"]["kwargs"]["sitting"]
        self.sitting = sitting_on(self.book, key)

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
        self._sat = True
        hub = Hub.here()
        hub.keep("beats", lambda: beats(hub))

    async def disconnect(self, code: int) -> None:
        """Hang up and leave the seat, unless the person has another page open."""
        await super().disconnect(code)
        if not self._sat:
            return
        others = Hub.here().lines.get(self.book.key, ())
        if not any(_sits(line, self) for line in others):
            await database_sync_to_async(leave_seat)(
                by=self.person, sitting=self.sitting
            )

    async def _catch_up(self, since: int, sight: str) -> None:
        """Tell the state anew and what this page missed; the hub waits meanwhile."""
        begun = self.pause()
        try:
            found = await database_sync_to_async(self._missed)(Hub.here(), since, sight)
        except BoardError as problem:
            self.end(CLOSE + problem.status)
            return
        if self.round != begun:
            return
        record, state, events = found
        self._say(state)
        for event in events:
            self._say(event)
        self.number, self.entry = state["head"], record.head
        if record.head < Hub.here().known.get(self.book.key, 0):
            await Hub.here().count(self.book, [self])

    def _missed(
        self, hub: Hub, since: int, sight: str
    ) -> tuple[Record, Told, list[Told]]:
        self.enter()
        take_seat(by=self.person, sitting=self.sitting)
        record = hub.record(self.book)
        told = missed(self.sitting, self._reader, record, since=since, sight=sight)
        return record, *told

    @property
    def _reader(self) -> Reader:
        return Reader(self.person, self.roles)

    def beat(self) -> None:
        """Tell that the line is there, and up to which number the page was told."""
        hub = Hub.here()
        if self.entry != hub.known.get(self.book.key):
            # Something went wrong on the way here: the record knows.
            sight = sight_of(self._reader, self.book)
            hub.do(self._catch_up(self.number, sight))
        else:
            self._say({"type": "head", "number": self.number})

    def _say(self, told: Told) -> None:
        self.say(written(told))

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
        same = (self.roles, news.told_as(self.person.key))
        if same not in news.texts:
            news.texts[same] = _without_numbers(news, self._reader)
        for place, text in news.texts[same]:
            if place > self.entry:
                self.number += 1
                self.say(f'{{"number":{self.number},{text}')
        self.entry = news.head

    def told(self, message: dict[str, Any]) -> None:
        """Pass on looks and pointers of this sitting; gather changes of seats."""
        if message.get("sitting") != self.sitting.key:
            return
        if message["kind"] == "seats":
            tell_seats_soon(Hub.here(), self.sitting)
        elif message.get("but") != self.person.key:
            self.say(message["text"])

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
            told: Told = {"type": "pointer", "by": self.person.key, "item": item}
            told |= {"x": round(x, 4), "y": round(y, 4)}
            message = as_told(self.book.key, self.sitting.key, told)
            await Hub.here().tell(message | {"but": self.person.key})

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


def _without_numbers(news: News, reader: Reader) -> list[tuple[int, str]]:
    """What readers of the same sight are told, each under their own next number."""
    known = Known.by(reader.person, news.book, reader.roles, news.about)
    to = Drawing(reader, news.book, news.pencils)
    found = []
    for entry in news.entries:
        if known.may(entry):
            event = event_of(0, entry, known)
            told = event_told(event, news.about.notes.get(event.note), to)
            del told["number"]
            found.append((entry.number, written(told).removeprefix("{")))
    return found


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
