"""A page of a sitting as the script in the browser keeps it, over a real socket."""

import asyncio
import json
from dataclasses import dataclass, field
from typing import Any

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake

from tests.sittings.served import Served

Told = dict[str, Any]


@dataclass
class Follower:
    """One client that comes back by its number, and counts as `line.js` does."""

    board: Served
    who: int
    number: int = -1
    sight: str = ""
    taken: list[Told] = field(default_factory=list)
    twice: int = 0
    fresh: int = 0
    cuts: int = 0
    line: ClientConnection | None = None

    async def stay(self, until: asyncio.Event) -> None:
        """Listen and come back until told to stop."""
        while not until.is_set():
            try:
                async with connect(
                    self.board.line(self.who, self.number, self.sight),
                    additional_headers=self.board.headers(self.who),
                    origin=self.board.address_of(self.who),  # type: ignore[arg-type]
                    max_queue=None,
                ) as self.line:
                    async for said in self.line:
                        await self._take(json.loads(said))
            except (ConnectionClosed, InvalidHandshake, OSError, TimeoutError):
                pass
            self.cuts += 1
            await asyncio.sleep(0.3)

    async def cut(self) -> None:
        """Lose the line without a word."""
        if self.line is not None:
            self.line.transport.abort()

    async def _take(self, told: Told) -> None:
        if told["type"] == "state":
            if told["fresh"]:
                self.number = told["number"]
                self.fresh += 1
            self.sight = told["sight"]
        elif told["type"] == "head" and told["number"] > self.number:
            await self._ask()
        elif told["type"] == "event":
            await self._count(told)

    async def _count(self, told: Told) -> None:
        if told["number"] <= self.number:
            self.twice += 1
        elif told["number"] == self.number + 1:
            self.number += 1
            self.taken.append(told)
        else:
            await self._ask()

    async def _ask(self) -> None:
        if self.line is not None:
            await self.line.send(json.dumps({"type": "missed", "since": self.number}))
