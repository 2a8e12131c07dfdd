"""Fan-out of a sitting: a note and a pencil tip on 50 and on 200 other screens.

    python3 manage.py bench sitting [CLIENTS[xPROCESSES] ...]

Real servers and real sockets, all on this machine, clients in this process. For each
number of clients, on the in-memory layer with one process and on Redis pub/sub with two
(`200x3`: with three): milliseconds from the press (the POST is sent) until the note is
on a screen, and from a pencil tip's message until it is on another; beside it bare
Redis pub/sub with as many subscribers, messages of the same size and the same clock.
Wall time swings with whatever else the machine does; so the processor time that all
servers took for one message stands beside it. Goals: a note on 50 screens within 100 ms
(p99), and at most twice bare Redis. Without a Redis on this machine only the in-memory
layer is measured.
"""

import asyncio
import json
import statistics
import sys
import tempfile
import time
import urllib.request
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from websockets.asyncio.client import ClientConnection, connect

from board.management.running.services import redis_program, running
from tests.sittings.served import Served, served

PROCESSES = 2
NOTES, NOTE_EVERY_S = 25, 0.4
POINTS, POINT_EVERY_S = 100, 0.1


def told(name: str, clients: int, found: list[float], wanted: int) -> float:
    """Print one row; give its p99."""
    millis = sorted(one * 1000 for one in found)
    p50 = statistics.median(millis) if millis else float("nan")
    p99 = millis[max(int(len(millis) * 0.99) - 1, 0)] if millis else float("nan")
    print(  # noqa: T201
        f"{name:38} {clients:4} screens  p50 {p50:7.1f} ms  p99 {p99:7.1f} ms  "
        f"{len(found)} of {wanted} arrived"
    )
    return p99


class Screen:
    """A client that only writes down when what it waits for arrived."""

    def __init__(self, line: ClientConnection) -> None:
        self.line = line
        self.at: dict[str, float] = {}
        self.there = False

    async def look(self) -> None:
        async for said in self.line:
            now = time.perf_counter()
            heard = json.loads(said)
            if heard["type"] == "event" and "note" in heard:
                self.at[heard["note"]["words"]] = now
            elif heard["type"] == "pointer":
                self.at[f"{heard['x']:.4f}"] = now
            elif heard["type"] == "state":
                self.there = True


async def measure(board: Served, clients: int, name: str) -> tuple[float, float]:
    """Both fan-outs on one board; their p99 in milliseconds."""
    everybody = range(len(board.told["people"]))
    # The artist and the author may not see a note of the house.
    sees = [one for one in everybody if one not in {1, 2}][: clients + 1]
    begun_at = time.perf_counter()
    lines = [await _line(board, who) for who in sees]
    screens = [Screen(line) for line in lines]
    looks = [asyncio.create_task(screen.look()) for screen in screens]
    while any(not screen.there for screen in screens):
        await asyncio.sleep(0.05)
    there = time.perf_counter() - begun_at
    print(f"{name}: {clients} screens there after {there:.1f} s")  # noqa: T201
    await asyncio.sleep(3)
    sent: dict[str, float] = {}
    answered: list[float] = []
    worked = board.worked_s()
    for place in range(NOTES):
        words = f"note {place}"
        sent[words] = time.perf_counter()
        await asyncio.to_thread(_pin, board, words)
        answered.append(time.perf_counter() - sent[words])
        await asyncio.sleep(NOTE_EVERY_S)
    await asyncio.sleep(1)
    a_note = (board.worked_s() - worked) / NOTES * 1000
    notes = [
        screen.at[words] - begun
        for screen in screens[1:]
        for words, begun in sent.items()
        if words in screen.at
    ]
    told(f"{name}: its POST answered", 1, answered, NOTES)
    note = told(f"{name}: a note", clients, notes, NOTES * clients)
    points: dict[str, float] = {}
    worked = board.worked_s()
    for place in range(POINTS):
        x = place / 1000
        points[f"{x:.4f}"] = time.perf_counter()
        item = board.told["items"][0]
        await lines[0].send(
            json.dumps({"type": "pointer", "item": item, "x": x, "y": 0.5})
        )
        await asyncio.sleep(POINT_EVERY_S)
    await asyncio.sleep(1)
    a_tip = (board.worked_s() - worked) / POINTS * 1000
    tips = [
        screen.at[x] - begun
        for screen in screens[1:]
        for x, begun in points.items()
        if x in screen.at
    ]
    tip = told(f"{name}: a pencil tip", clients, tips, POINTS * clients)
    print(  # noqa: T201
        f"{name}: processor time of the servers {a_note:.1f} ms a note, "
        f"{a_tip:.1f} ms a pencil tip"
    )
    for look in looks:
        look.cancel()
    for line in lines:
        await line.close()
    return note, tip


async def _line(board: Served, who: int) -> ClientConnection:
    return await connect(
        board.line(who),
        additional_headers=board.headers(who),
        origin=board.address_of(who),  # type: ignore[arg-type]  # a plain one
        max_queue=None,
        open_timeout=60,
    )


def _pin(board: Served, words: str) -> None:
    """Pin a note as a page does."""
    body = {
        "event": f"bench-{time.time_ns()}",
        "revision": board.told["revisions"][0],
        "sort": "comment",
        "words": words,
        "mark": "box",
        "points": [[0.3, 0.3], [0.4, 0.5]],
    }
    asked = urllib.request.Request(
        f"{board.address}/api/items/{board.told['items'][0]}/notes/",
        data=json.dumps(body).encode(),
        headers=board.headers(0) | {"Content-Type": "application/json"},
    )
    with urllib.request.urlopen(asked, timeout=30) as answer:
        assert answer.status == 201


async def bare(url: str, clients: int) -> float:
    """The same fan-out by Redis pub/sub alone."""
    from redis.asyncio import Redis  # noqa: PLC0415

    found: list[float] = []
    sent: dict[str, float] = {}

    async def subscribe() -> Any:
        line = Redis.from_url(url).pubsub()
        await line.subscribe("bench")
        await line.get_message(timeout=5)
        return line

    async def hear(line: Any) -> None:
        async for heard in line.listen():
            if heard["type"] == "message":
                told = json.loads(heard["data"])
                found.append(time.perf_counter() - sent[told["x"]])

    lines = [await subscribe() for _ in range(clients)]
    tasks = [asyncio.create_task(hear(line)) for line in lines]
    sender = Redis.from_url(url)
    for place in range(POINTS):
        x = f"{place / 1000:.4f}"
        sent[x] = time.perf_counter()
        body = {"type": "pointer", "by": "k" * 16, "item": "i" * 16, "x": x, "y": 0.5}
        await sender.publish("bench", json.dumps(body))
        await asyncio.sleep(POINT_EVERY_S)
    await asyncio.sleep(1)
    for task in tasks:
        task.cancel()
    for line in lines:
        await line.aclose()
    return told("bare Redis pub/sub", clients, found, POINTS * clients)


def one(clients: int, processes: int, url: str) -> None:
    """Measure one number of screens on each layer."""
    base = asyncio.run(bare(url, clients)) if url else 0.0
    layers = [("in memory, 1 process", "", 1)]
    if url:
        layers.append((f"Redis, {processes} processes", url, processes))
    for name, redis, many in layers:
        with (
            tempfile.TemporaryDirectory(prefix="board-bench-") as folder,
            served(Path(folder), clients + 3, redis, processes=many) as board,
        ):
            note, tip = asyncio.run(measure(board, clients, name))
        if base:
            print(  # noqa: T201
                f"{name}: p99 against bare Redis: note {note / base:.1f} x, "
                f"pencil tip {tip / base:.1f} x"
            )


def main(words: list[str]) -> None:
    """Measure each number of screens in turn."""
    with ExitStack() as stack:
        url = ""
        if redis_program():
            services = stack.enter_context(running(postgres=False, redis=True))
            url = services["BOARD_TEST_REDIS_URL"]
        for word in words:
            clients, _, processes = word.partition("x")
            one(int(clients), int(processes or PROCESSES), url)


if __name__ == "__main__":
    main(sys.argv[1:] or ["50", "200"])
