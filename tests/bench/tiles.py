"""Tiles through the signed door against a bare ASGI app with the same in memory.

    .venv/bin/python -m tests.bench.tiles [SECONDS]

The same uvicorn child serves both; rounds alternate so that a busy machine slows both.
Goal: at least 0.6 of the bare rate.
"""

import os
import selectors
import socket
import statistics
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402

from board.repro import grants, store  # noqa: E402
from board.repro.laying import lay  # noqa: E402
from board.repro.sheets import SheetSize, bled_matrix  # noqa: E402
from board.repro.tiles import TileIndex  # noqa: E402
from tests.repro import pictures  # noqa: E402
from tests.repro.serving import Server, serving, wait_until  # noqa: E402

LINES = 16
ROUNDS = 5


def rate(server: Server, paths: list[str], seconds: float) -> tuple[float, float]:
    """Ask for the paths in turn over kept lines.

    Returns
    -------
    Answers per second, and microseconds of the server's processor per answer.
    """
    asks = [
        f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: image/jpeg\r\n\r\n".encode()
        for path in paths
    ]
    poll = selectors.DefaultSelector()
    lines: list[socket.socket] = []
    missing: dict[socket.socket, int] = {}
    asked = done = 0
    for _ in range(LINES):
        line = socket.create_connection(("127.0.0.1", server.port))
        poll.register(line, selectors.EVENT_READ)
        lines.append(line)
        line.sendall(asks[asked % len(asks)])
        asked += 1
    begin, used = time.perf_counter(), server.cpu_s()
    while time.perf_counter() - begin < seconds:
        for ready, _events in poll.select(1):
            line = ready.fileobj  # type: ignore[assignment]  # only sockets are in it
            body = line.recv(1 << 18)
            if line not in missing:
                head, _, rest = body.partition(b"\r\n\r\n")
                if b" 200 " not in head[:20]:
                    raise SystemExit(f"the door said {head[:60]!r}")
                length = int(head.lower().split(b"content-length: ")[1].split(b"\r")[0])
                missing[line] = length - len(rest)
            else:
                missing[line] -= len(body)
            if missing[line] <= 0:
                del missing[line]
                done += 1
                line.sendall(asks[asked % len(asks)])
                asked += 1
    took, used = time.perf_counter() - begin, server.cpu_s() - used
    for line in lines:
        line.close()
    return done / took, used / done * 1e6


def picture(folder: Path) -> tuple[str, list[tuple[int, int, int]], int]:
    """Lay a picture of 24 million pixels; its key, its tiles and their mean size."""
    sheet = SheetSize(420, 210, 3, 5)
    developed = pictures.developed(folder / "a.v", pictures.painted(6800, 3500))
    with store.new_picture("bench-key") as fresh:
        lay(developed, bled_matrix(6800, 3500, sheet), sheet, fresh)
        index = TileIndex.load(fresh / "laid.index")
    top = len(index.levels) - 1
    grid = index.levels[top]
    tiles = [(top, c, r) for r in range(grid.rows) for c in range(grid.columns)]
    mean = sum(length for _, length in grid.places) // len(grid.places)
    return "bench-key", tiles, mean


def main(seconds: float) -> None:
    """Print both rates and their ratio, the median of some rounds."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        settings.BOARD_FOLDER = folder
        key, tiles, mean = picture(folder)
        address = grants.grant_tiles(key, "bench")
        signed = [f"{address}/{level}/{c}_{r}.jpg" for level, c, r in tiles]
        bare = [f"/bare/{key}/{level}/{c}_{r}" for level, c, r in tiles]
        with serving(folder) as server:
            wait_until(lambda: server.http.get("/t/").status_code == 404)
            bares, doors = [], []
            for _ in range(ROUNDS):
                bares.append(rate(server, bare, seconds))
                doors.append(rate(server, signed, seconds))
    middle = statistics.median
    pairs = list(zip(bares, doors, strict=True))
    fast = middle(door[0] / bare[0] for bare, door in pairs)
    cheap = middle(bare[1] / door[1] for bare, door in pairs)
    said = [f"tiles of {mean / 1000:.0f} kB on average, {len(tiles)}; {LINES} lines"]
    for name, found in (("bare ASGI app", bares), ("signed door", doors)):
        each, cost = (middle(row[at] for row in found) for at in (0, 1))
        said.append(f"{name:14} {each:7.0f} a second {cost:7.0f} us of processor each")
    said.append(f"ratio          {fast:7.2f} {cheap:16.2f}   (goal: 0.60)")
    sys.stdout.write("\n".join(said) + "\n")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 3.0)
