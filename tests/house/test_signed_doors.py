"""Pictures, originals and uploads open to their own signature alone; sockets too."""

from collections.abc import Callable
from typing import Any

import channels.db
import httpx
import pytest
from asgiref.sync import async_to_sync
from asgiref.testing import ApplicationCommunicator
from channels.routing import URLRouter

from accounts.models import Person
from board.asgi import application
from board.repro import grants
from board.repro.doors import PREFIXES
from board.viewing.urls import sockets
from tests.house.doors import SIGNED
from tests.house.world import World

LONG_AGO = 1_000_000_000.0
SHA = "a" * 64
GIVEN: dict[str, Callable[[str, float | None], str]] = {
    "/t/": lambda scope, now: grants.grant_tiles("key", scope, now=now) + "/small.jpg",
    "/o/": lambda scope, now: grants.grant_original(SHA, "a.png", scope, now=now),
    "/u/": lambda scope, now: grants.grant_upload("b" * 16, scope, now=now),
}


def _status(address: str, method: str = "GET") -> int:
    async def ask() -> int:
        app: Any = application  # its scope is a plain dict
        transport = httpx.ASGITransport(app=app)
        headers = {"Tus-Resumable": "1.0.0"}
        async with httpx.AsyncClient(
            transport=transport, base_url="http://localhost"
        ) as client:
            return (await client.request(method, address, headers=headers)).status_code

    return async_to_sync(ask)()


def _method(prefix: str) -> str:
    return "HEAD" if prefix == "/u/" else "GET"


def test_every_signed_door_has_its_tests() -> None:
    assert set(PREFIXES) == SIGNED == set(GIVEN)


@pytest.mark.parametrize("prefix", sorted(SIGNED))
def test_a_good_signature_is_let_in_to_what_is_not_there(prefix: str) -> None:
    assert _status(GIVEN[prefix]("book:ann", None), _method(prefix)) == 404


@pytest.mark.parametrize("prefix", sorted(SIGNED))
def test_a_signature_that_ran_out_is_refused(prefix: str) -> None:
    assert _status(GIVEN[prefix]("book:ann", LONG_AGO), _method(prefix)) == 403


@pytest.mark.parametrize("prefix", sorted(SIGNED))
def test_a_signature_of_another_scope_is_refused(prefix: str) -> None:
    stolen = GIVEN[prefix]("book:ann", None).replace("book:ann", "book:bob")
    assert _status(stolen, _method(prefix)) == 403


@pytest.mark.parametrize("prefix", sorted(SIGNED))
def test_a_changed_signature_is_refused(prefix: str) -> None:
    good = GIVEN[prefix]("book:ann", None)
    mark = "book:ann/" if prefix != "/u/" else "ticket="
    before, after = good.split(mark, 1)
    spot = 12 if prefix == "/u/" else 0
    other = "A" if after[spot] != "A" else "B"
    bad = before + mark + after[:spot] + other + after[spot + 1 :]
    assert _status(bad, _method(prefix)) == 403


@pytest.mark.parametrize(
    ("address", "method"),
    [
        ("/t/9999999999/book:ann/none/key/small.jpg", "GET"),
        (f"/o/9999999999/book:ann/none/{SHA}/a.png", "GET"),
        ("/u/bbbbbbbbbbbbbbbb", "HEAD"),
        ("/u/", "POST"),
    ],
)
def test_no_signature_is_refused(address: str, method: str) -> None:
    assert _status(address, method) == 403


# --------------------------------------------------------------------------- sockets


@pytest.fixture
def same_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the test's connection open while a socket reads."""
    monkeypatch.setattr(channels.db, "close_old_connections", lambda: None)


def _line(world: World, who: Person | None) -> tuple[bool, Any]:
    """What the live line of the book says first: a message, or why it shuts."""

    async def ask() -> tuple[bool, Any]:
        scope = {"type": "websocket", "path": f"/live/{world.book.key}/", "user": who}
        communicator: Any = ApplicationCommunicator  # asgiref's carries no types
        line = communicator(URLRouter(sockets), scope | {"headers": []})
        await line.send_input({"type": "websocket.connect"})
        await line.receive_output(timeout=5)
        said = await line.receive_output(timeout=5)
        await line.send_input({"type": "websocket.disconnect", "code": 1000})
        await line.wait(timeout=5)
        return said["type"] != "websocket.close", said.get("code")

    return async_to_sync(ask)()


def test_the_live_line_shuts_for_nobody_and_strangers(
    world: World, same_connection: None
) -> None:
    assert _line(world, None) == (False, 4401)
    assert _line(world, world.cast.stranger) == (False, 4404)


def test_the_live_line_listens_to_everybody_on_the_book(
    world: World, same_connection: None
) -> None:
    for person in world.cast.by_role().values():
        assert _line(world, person)[0]


def test_the_live_line_shuts_for_who_was_credited_once(
    world: World, same_connection: None
) -> None:
    world.book.credits.update(ended_at="2026-03-02T09:00:00Z")
    assert _line(world, world.cast.editor) == (False, 4404)
