"""One open page of a sitting, as far as its socket goes."""

import json
from typing import Any

from asgiref.testing import ApplicationCommunicator

from accounts.models import Person
from board.asgi import lines
from board.sittings.models import Sitting

Told = dict[str, Any]


class Page:
    """A page that keeps what it was told, and counts as the script does."""

    def __init__(
        self, sitting: Sitting, who: Person | None, *, since: int = -1, sight: str = ""
    ) -> None:
        key = sitting.book.key
        communicator: Any = ApplicationCommunicator  # asgiref's carries no types
        self._line = communicator(
            lines,
            {
                "type": "websocket",
                "path": f"/live/{key}/sittings/{sitting.key}/",
                "query_string": f"since={since}&sight={sight}".encode(),
                "user": who,
                "headers": [],
            },
        )
        self.state: Told = {}

    async def open(self) -> "Page":
        await self.ask()
        self.state = await self.until("state")
        return self

    async def ask(self) -> None:
        await self._line.send_input({"type": "websocket.connect"})
        accepted = await self._line.receive_output(timeout=10)
        assert accepted["type"] == "websocket.accept"

    async def hear(self) -> Told:
        said = await self._line.receive_output(timeout=10)
        if said["type"] == "websocket.close":
            return {"type": "close", "code": said["code"]}
        told: Told = json.loads(said["text"])
        return told

    async def until(self, kind: str) -> Told:
        """The next message of a kind; others are passed over."""
        for _ in range(60):
            told = await self.hear()
            if told["type"] == kind:
                return told
        raise AssertionError(f"no {kind} was told")

    async def events(self, count: int) -> list[Told]:
        return [await self.until("event") for _ in range(count)]

    async def hears_no(self, kind: str) -> bool:
        """Whether nothing of a kind is told for a while."""
        while not await self._line.receive_nothing(timeout=0.4):
            if (await self.hear())["type"] == kind:
                return False
        return True

    async def say(self, **said: Any) -> None:
        await self.send(json.dumps(said))

    async def send(self, text: str) -> None:
        await self._line.send_input({"type": "websocket.receive", "text": text})

    async def hang_up(self) -> None:
        await self._line.send_input({"type": "websocket.disconnect", "code": 1000})
        await self._line.wait(timeout=10)
