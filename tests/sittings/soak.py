"""A fault run: clients cut at random, the server killed twice, nothing lost or doubled.

    python3 manage.py soak --sitting --events 120 --seed 7

The board runs on the in-memory layer with one process; where BOARD_TEST_REDIS_URL names
a Redis, or a Redis server is installed, it runs once more on Redis pub/sub with two
processes. Acts go into the record from this process: on the in-memory layer not one
ring reaches the server, which must find them by looking; on Redis all do. At the end every client must hold
exactly the events that `events_for` counts for its reader, in order and once.
"""

import asyncio
import importlib
import os
import random
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

import django

from board.management.running.services import redis_program, running
from tests.sittings.client import Follower
from tests.sittings.served import Served, served

CLIENTS, SHARE_CUT, KILLS, PROCESSES = 24, 0.3, 2, 2
SETTLES_WITHIN_S = 60


def main(events: int, seed: int, url: str | None = None) -> int:
    """Run it on both layers, each in a process of its own, and say how it went."""
    if url is not None:
        return one(events, seed, url)
    with ExitStack() as stack:
        urls = ["", os.environ.get("BOARD_TEST_REDIS_URL", "")]
        if not urls[1] and redis_program():
            services = stack.enter_context(running(postgres=False, redis=True))
            urls[1] = services["BOARD_TEST_REDIS_URL"]
        words = [sys.executable, "-m", "tests.sittings.soak", str(events), str(seed)]
        return max(
            subprocess.run([*words, each], check=False).returncode
            for each in dict.fromkeys(urls)
        )


def one(events: int, seed: int, redis: str) -> int:
    """Run it on the in-memory layer, or on this Redis with two processes."""
    with tempfile.TemporaryDirectory(prefix="board-soak-") as folder:
        processes = PROCESSES if redis else 1
        with served(Path(folder), CLIENTS, redis, processes=processes) as board:
            for name in [name for name in os.environ if name.startswith("BOARD_")]:
                del os.environ[name]  # the board of whoever began this
            os.environ.update(board.env)
            django.setup()
            return asyncio.run(_run(board, events, random.Random(seed), seed))  # noqa: S311


async def _run(board: Served, events: int, chance: random.Random, seed: int) -> int:
    layer = "Redis" if board.env.get("BOARD_REDIS_URL") else "in memory"
    many = len(board.servers)
    print(  # noqa: T201
        f"seed {seed}, {CLIENTS} clients, {events} acts, {layer}, {many} process(es)"
    )
    over = asyncio.Event()
    clients = [Follower(board, who) for who in range(CLIENTS)]
    tasks = [asyncio.create_task(client.stay(over)) for client in clients]
    while any(client.number < 0 for client in clients):
        await asyncio.sleep(0.1)
    begun = [client.number for client in clients]
    kills = sorted(chance.sample(range(events // 5, events), KILLS))
    acts = importlib.import_module("tests.sittings.acts")  # wants Django set up
    people = await asyncio.to_thread(acts.Acts, board, chance)
    done = 0
    for place in range(events):
        done += await asyncio.to_thread(people.act)
        if place % 10 == 0:
            for client in chance.sample(clients, int(CLIENTS * SHARE_CUT)):
                await client.cut()
        if place in kills:
            await asyncio.to_thread(board.kill)
            await asyncio.sleep(chance.random())
            asyncio.get_running_loop().run_in_executor(None, board.start)
    wanted = await asyncio.to_thread(acts.wanted, board, begun)
    wrong = await _settled(clients, wanted)
    over.set()
    for task in tasks:
        task.cancel()
    told = sum(len(client.taken) for client in clients)
    print(  # noqa: T201
        f"{done} acts done, {KILLS} kills, {sum(one.cuts for one in clients)} cuts; "
        f"{told} events taken, {sum(one.twice for one in clients)} offered twice and "
        f"dropped by number, {sum(one.fresh for one in clients) - CLIENTS} fresh states"
    )
    for line in wrong:
        print(line)  # noqa: T201
    print("every client holds what it may see" if not wrong else "NOT HELD")  # noqa: T201
    return 1 if wrong else 0


async def _settled(clients: list[Follower], wanted: list[list[str]]) -> list[str]:
    """Wait until every client has what it may see; else say who has not."""
    wrong: list[str] = []
    until = time.monotonic() + SETTLES_WITHIN_S
    while time.monotonic() < until:
        wrong = [
            f"client {client.who}: {len(client.taken)} events, {len(want)} wanted"
            for client, want in zip(clients, wanted, strict=True)
            if [one["sentence"] for one in client.taken] != want
        ]
        if not wrong:
            break
        await asyncio.sleep(0.5)
    return wrong


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2]), *sys.argv[3:4]))
