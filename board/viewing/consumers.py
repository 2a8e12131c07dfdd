"""The live line of a book: says that something was entered, never what."""

from typing import Any

from channels.db import database_sync_to_async
from channels.generic.websocket import AsyncJsonWebsocketConsumer

from accounts.models import Person
from board.books.models import Book
from board.books.queries import book_for, roles_of
from board.daybook.models import Entry
from board.errors import NotFound, NotPermitted
from board.slips.queries.record import may_know
from board.viewing.rules import named

SIGNED_OUT, ENDED, NOTHING = 4401, 4403, 4404


class Live(AsyncJsonWebsocketConsumer):
    """One open page of one reader; closes with 4401, 4403 or 4404 in plain cases."""

    person: Person
    book: Book

    async def connect(self) -> None:
        """Let in whoever is signed in and credited on the book."""
        await self.accept()
        person = self.scope.get("user")
        if not isinstance(person, Person) or not person.is_active:
            await self.close(SIGNED_OUT)
            return
        key = self.scope["url_route"]["kwargs"]["key"]
        try:
            self.book = await database_sync_to_async(book_for)(person, key)
        except (NotFound, NotPermitted):
            await self.close(NOTHING)
            return
        self.person = person
        self.groups = [f"book-{key}", f"person-{person.key}"]
        for group in self.groups:
            await self.channel_layer.group_add(group, self.channel_name)
        await self.send_json({"type": "listening"})

    async def disconnect(self, code: int) -> None:
        """Leave the groups."""
        for group in self.groups or []:
            await self.channel_layer.group_discard(group, self.channel_name)

    async def receive(self, *_said: Any, **_more: Any) -> None:
        """Take nothing over this line, not even to read it: acts go through the views."""

    async def entered(self, message: dict[str, Any]) -> None:
        """Say that the item changed, if this reader may know it."""
        told = message["entry"]
        if await database_sync_to_async(self._may_know)(told):
            await self.send_json(
                {"type": "entered", "item": told["item_key"], "kind": told["kind"]}
            )

    def _may_know(self, told: dict[str, Any]) -> bool:
        known = {field.attname for field in Entry._meta.concrete_fields}
        entry = Entry(**{name: told[name] for name in known & set(told)})
        return may_know(entry, self.person, self.book)

    async def signed_out(self, message: dict[str, Any]) -> None:
        """Shut the line when its reader signed out of the session it belongs to."""
        session = self.scope.get("session")
        if session is not None and named(session.session_key) == message["session"]:
            await self.close(SIGNED_OUT)

    async def credit_ended(self, message: dict[str, Any]) -> None:
        """Shut the line when the reader's last credit on this book ended."""
        if message.get("book") != self.book.key:
            return
        left = await database_sync_to_async(roles_of)(self.person, self.book)
        if not left:
            await self.send_json({"type": "ended"})
            await self.close(ENDED)
