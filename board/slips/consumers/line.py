"""The line of one open page: who is let in, what is sent, and how it ends."""

import asyncio
from collections.abc import Mapping
from typing import Any

from channels.consumer import get_handler_name
from channels.db import database_sync_to_async
from channels.generic.websocket import AsyncWebsocketConsumer

from accounts.models import Person
from accounts.rules import named
from board.books.models import Book
from board.books.queries import book_and_roles
from board.errors import BoardError
from board.permits import Role
from board.slips.consumers.hub import Hub
from board.slips.queries.events import Event, Record
from board.slips.queries.news import News

SIGNED_OUT, ENDED, NOTHING, SLOW = 4401, 4403, 4404, 4408
CLOSE = 4000  # and the HTTP status of what went wrong
STRAIGHT = "straight"  # in the scope: the server's own send, past all middleware
MOST_WAITING = 1000  # messages not taken: the page is gone, or asks again later


class BookLine(AsyncWebsocketConsumer):
    """One open page of one reader; closes with 4000 and an HTTP status.

    `entry` is the number of the record's entry up to which the page was told, None
    while it is being found out; `number` is how many events that makes for this reader.
    """

    channel_layer_alias = ""  # the hub hears for all lines; a line has no channel
    person: Person
    book: Book
    roles: frozenset[Role] = frozenset()
    entry: int | None = None
    number = 0
    round = 0

    async def dispatch(self, message: Mapping[str, Any]) -> None:
        """Take a message without a way through the thread of the database.

        Channels looks after old connections before each message; whatever asks the
        database here does so by `database_sync_to_async`, which does the same.
        """
        await getattr(self, get_handler_name(message))(message)

    async def connect(self) -> None:
        """Let in whoever is signed in and credited on the book."""
        await self.accept()
        self._waiting: asyncio.Queue[str | int] = asyncio.Queue()
        self._sends: asyncio.Task[None] | None = None
        person = self.scope.get("user")
        if not isinstance(person, Person) or not person.is_active:
            await self.close(SIGNED_OUT)
            return
        self.person = person
        try:
            await database_sync_to_async(self.enter)()
        except BoardError as problem:
            await self.close(CLOSE + problem.status)
            return
        await Hub.here().join(self)
        self._sends = Hub.here().do(self._send_on())
        await self.begin()

    def enter(self) -> None:
        """Find what the line is about; raises what keeps this person out."""
        key = self.scope["url_route"]["kwargs"]["key"]
        self.book, self.roles = book_and_roles(self.person, key)

    async def begin(self) -> None:
        """Say where things stand; from here on the hub tells what is new."""
        raise NotImplementedError

    async def disconnect(self, code: int) -> None:
        """Hang up."""
        if self._sends is not None:
            await Hub.here().leave(self)
            self._sends.cancel()

    async def receive(self, *_said: Any, **_more: Any) -> None:
        """Take nothing over this line, not even to read it: acts go through the views."""

    def say(self, text: str) -> None:
        """Send a message in its turn, without waiting for a slow page."""
        if self._waiting.qsize() < MOST_WAITING:
            self._waiting.put_nowait(text)
        else:
            self._waiting = asyncio.Queue()
            self.end(SLOW)

    def end(self, code: int) -> None:
        """Shut the line once what was said before is sent."""
        self.entry = None
        self._waiting.put_nowait(code)

    def pause(self) -> int:
        """Be told nothing until it is found out what was missed; gives this round."""
        self.entry = None
        self.round += 1
        return self.round

    async def _send_on(self) -> None:
        send = self.scope.get(STRAIGHT, self.base_send)
        while True:
            said = await self._waiting.get()
            if isinstance(said, int):
                await self.close(said)
                return
            try:
                await send({"type": "websocket.send", "text": said})
            except OSError:  # the page is gone, and disconnect() is on its way
                return

    def see_anew(self, roles: frozenset[Role]) -> None:
        """Take the reader's credits of now; without any the line is shut at once."""
        if not roles:
            self.say('{"type":"ended"}')
            self.end(ENDED)
        self.roles = roles

    def signed_out(self, session: str) -> None:
        """Shut the line when its reader signed out of the session it belongs to."""
        own = self.scope.get("session")
        if own is not None and named(own.session_key) == session:
            self.end(SIGNED_OUT)

    def wants_count(self, news: News) -> bool:
        """Whether the line must be told by the whole record."""
        return False

    def counted(self, record: Record, events: list[Event], total: int) -> None:
        """Be told by the whole record."""

    def hear(self, news: News) -> None:
        """Be told what was entered."""

    def told(self, message: dict[str, Any]) -> None:
        """Be told something that is not in the record."""
