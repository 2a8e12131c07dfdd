"""The live line: who is let in, what they hear, and when it is shut."""

import json
from typing import Any

import pytest
from asgiref.sync import sync_to_async
from asgiref.testing import ApplicationCommunicator
from django.contrib.sessions.backends.base import SessionBase
from django.http import HttpRequest

from accounts.models import Person
from board.asgi import lines
from board.books.actions import credits
from board.books.models import Book, Credit
from board.slips.actions.announcing import hang_up
from tests import make
from tests.conftest import Cast
from tests.viewing.conftest import Hung

pytestmark = pytest.mark.django_db(transaction=True)


class Line:
    """One open page, as far as its socket goes."""

    def __init__(
        self, book_key: str, person: Person | None, session: Any = None
    ) -> None:  # a session as Django's engines make it
        path = f"/live/{book_key}/"
        scope: dict[str, Any] = {
            "type": "websocket",
            "path": path,
            "user": person,
            "session": session,
            "headers": [],
        }
        communicator: Any = ApplicationCommunicator  # asgiref's carries no types
        self._line = communicator(lines, scope)

    async def ask(self) -> None:
        await self._line.send_input({"type": "websocket.connect"})

    async def open(self) -> None:
        await self.ask()
        accepted = await self._line.receive_output(timeout=5)
        assert accepted["type"] == "websocket.accept"

    async def heard(self) -> dict[str, Any]:
        said = await self._line.receive_output(timeout=5)
        told: dict[str, Any] = json.loads(said["text"])
        return told

    async def closed_with(self) -> int:
        """The close code, after whatever was still said."""
        for _ in range(5):
            said = await self._line.receive_output(timeout=5)
            if said["type"] == "websocket.close":
                return int(said["code"])
        raise AssertionError("the line stayed open")

    async def hears_nothing(self) -> bool:
        return bool(await self._line.receive_nothing(timeout=0.3))

    async def say(self, **said: Any) -> None:
        await self._line.send_input({"type": "websocket.receive", **said})

    async def hang_up(self) -> None:
        await self._line.send_input({"type": "websocket.disconnect", "code": 1000})
        await self._line.wait(timeout=5)


async def listening(book: Book, who: Person, session: Any = None) -> Line:
    spoken = Line(book.key, who, session)
    await spoken.open()
    assert (await spoken.heard())["type"] == "listening"
    return spoken


async def test_nobody_signed_out_listens(book: Book) -> None:
    spoken = Line(book.key, None)
    await spoken.open()
    assert await spoken.closed_with() == 4401


async def test_a_stranger_hears_that_there_is_nothing(cast: Cast, book: Book) -> None:
    spoken = Line(book.key, cast.stranger)
    await spoken.open()
    assert await spoken.closed_with() == 4404


async def test_a_note_is_told_to_whoever_may_know_it_and_nobody_else(
    hung: Hung,
) -> None:
    editor = await listening(hung.book, hung.cast.editor)
    artist = await listening(hung.book, hung.cast.illustrator)
    await sync_to_async(hung.note)(hung.cast.author, words="It was a Tuesday.")
    heard = await editor.heard()
    assert heard == {
        "type": "entered",
        "item": hung.item.key,
        "kind": "note raised",
    }
    assert await artist.hears_nothing()
    await editor.hang_up()
    await artist.hang_up()


@pytest.mark.parametrize(
    "said",
    [
        {"text": "{{{"},
        {"text": "[" * 60_000},
        {"bytes": b"\xff\xfe"},
        {"text": '{"type": "credit.ended"}'},
    ],
)
async def test_whatever_a_page_says_breaks_no_line(
    hung: Hung, said: dict[str, Any]
) -> None:
    editor = await listening(hung.book, hung.cast.editor)
    await editor.say(**said)
    await sync_to_async(hung.note)(hung.cast.author, words="It was a Tuesday.")
    assert (await editor.heard())["kind"] == "note raised"
    await editor.hang_up()


async def test_a_line_that_is_not_there_is_shut_without_an_error(cast: Cast) -> None:
    spoken = Line("a/b", cast.editor)
    await spoken.ask()
    assert await spoken.closed_with() == 4404


async def test_the_line_is_shut_when_the_credit_ends(hung: Hung) -> None:
    spoken = await listening(hung.book, hung.cast.designer)
    credit = await Credit.objects.aget(person=hung.cast.designer)
    end = sync_to_async(credits.end_credit)
    await end(credit, by=hung.cast.editor, event=make.event())
    assert await spoken.closed_with() == 4403


async def test_signing_out_shuts_the_lines_of_that_session_alone(hung: Hung) -> None:
    one, other = SessionBase(), SessionBase()
    one._session_key, other._session_key = "this-session", "another-session"
    mine = await listening(hung.book, hung.cast.designer, session=one)
    elsewhere = await listening(hung.book, hung.cast.designer, session=other)
    request = HttpRequest()
    request.session = one
    await sync_to_async(hang_up)(request=request, user=hung.cast.designer)
    assert await mine.closed_with() == 4401
    assert await elsewhere.hears_nothing()
    await elsewhere.hang_up()
