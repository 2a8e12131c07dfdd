"""Tiles through the signed door against a bare ASGI app with the same in memory.

    .venv/bin/python -m tests.bench.tiles [SECONDS]

The same uvicorn child serves both; rounds alternate so that a busy machine slows both.
Where nginx is installed it stands before both as well, as the README tells it to, and
serves the same tiles as files from its own disk. Goal: at least 0.6 of each, and 99
of 100 answers within 1 ms.
"""

import os
import selectors
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
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


NGINX = """
daemon off; master_process off; error_log stderr crit; pid {folder}/nginx.pid;
events {{ worker_connections 256; }}
http {{
  access_log off; sendfile on; tcp_nopush on; keepalive_requests 1000000;
  types {{ image/jpeg jpg; }}
  client_body_temp_path {folder}/b; proxy_temp_path {folder}/p;
  fastcgi_temp_path {folder}/f; uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
  upstream board {{ server 127.0.0.1:{board}; keepalive 32; }}
  {cache}
  server {{
    listen 127.0.0.1:{port};
    location /plain/ {{ alias {folder}/plain/; }}
    {tiles}
    location / {{ proxy_pass http://board; proxy_http_version 1.1;
                  proxy_set_header Connection ""; proxy_set_header Host 127.0.0.1; }}
  }}
}}
"""


def advised(folder: Path, board: int) -> tuple[str, str]:
    """Give what the README tells nginx: where it keeps tiles, and the tiles' place."""
    block = Path("README.md").read_text().split("```nginx\n")[1].split("```")[0]
    block = block.replace("/var/cache/nginx/tiles", f"{folder}/tiles")
    cache, _, tiles = block.replace(":8000", f":{board}").partition("\n")
    return cache, tiles


@contextmanager
def nginx(folder: Path, board: int, tiles: list[bytes]) -> Iterator[int | None]:
    """Start nginx before the board, the tiles as files too; lends its port, or None."""
    program = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
    if program is None:
        yield None
        return
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    (folder / "plain").mkdir()
    for at, tile in enumerate(tiles):
        (folder / "plain" / f"{at}.jpg").write_bytes(tile)
    folder.chmod(0o755)
    conf = folder / "nginx.conf"
    cache, place = advised(folder, board)
    conf.write_text(
        NGINX.format(folder=folder, board=board, port=port, cache=cache, tiles=place)
    )
    child = subprocess.Popen([program, "-p", str(folder), "-c", str(conf)])
    try:
        wait_until(lambda: socket.socket().connect_ex(("127.0.0.1", port)) == 0)
        yield port
    finally:
        child.terminate()
        child.wait(10)


def slowest_of_hundred(port: int, paths: list[str]) -> float:
    """Ask one after another on one bare line; the 99th of 100 waiting times, in ms.

    From the last byte asked to the last byte here: the server's time, and the kernel's.
    """
    took = []
    with socket.create_connection(("127.0.0.1", port)) as line:
        for at in range(2000):
            asked = ask(paths[at % len(paths)])
            begin = time.perf_counter()
            line.sendall(asked)
            missing = begun(line.recv(1 << 18))
            while missing > 0:
                missing -= len(line.recv(1 << 18))
            took.append(time.perf_counter() - begin)
    return statistics.quantiles(took, n=100)[-1] * 1000


def ask(path: str) -> bytes:
    """Give the bytes that ask for a path on a kept line."""
    return (
        f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: image/jpeg\r\n\r\n".encode()
    )


def begun(first: bytes) -> int:
    """Read the head of an answer; give how many bytes of its body are still to come."""
    head, _, rest = first.partition(b"\r\n\r\n")
    if b" 200 " not in head[:20]:
        raise SystemExit(f"the door said {head[:60]!r}")
    length = int(head.lower().split(b"content-length: ")[1].split(b"\r")[0])
    return length - len(rest)


def rate(
    server: Server, paths: list[str], seconds: float, port: int | None = None
) -> tuple[float, float]:
    """Ask for the paths in turn over kept lines.

    Returns
    -------
    Answers per second, and microseconds of the server's processor per answer.
    """
    asks = [ask(path) for path in paths]
    poll = selectors.DefaultSelector()
    lines: list[socket.socket] = []
    missing: dict[socket.socket, int] = {}
    asked = done = 0
    for _ in range(LINES):
        line = socket.create_connection(("127.0.0.1", port or server.port))
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
                missing[line] = begun(body)
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
            files = [server.http.get(path).content for path in signed]
            plain = [f"/plain/{at}.jpg" for at in range(len(files))]
            bares, doors = [], []
            front: dict[str, list[float]] = {"file": [], "bare": [], "door": []}
            with nginx(folder, server.port, files) as port:
                for _ in range(ROUNDS):
                    bares.append(rate(server, bare, seconds))
                    doors.append(rate(server, signed, seconds))
                    asks = {"file": plain, "bare": bare, "door": signed}
                    for which, paths in asks.items() if port else ():
                        front[which].append(rate(server, paths, seconds, port)[0])
            waits = [slowest_of_hundred(server.port, paths) for paths in (bare, signed)]
    middle = statistics.median
    pairs = list(zip(bares, doors, strict=True))
    fast = middle(door[0] / bare[0] for bare, door in pairs)
    cheap = middle(bare[1] / door[1] for bare, door in pairs)
    said = [f"tiles of {mean / 1000:.0f} kB on average, {len(tiles)}; {LINES} lines"]
    for name, found in (("bare ASGI app", bares), ("signed door", doors)):
        each, cost = (middle(row[at] for row in found) for at in (0, 1))
        said.append(f"{name:14} {each:7.0f} a second {cost:7.0f} us of processor each")
    said.append(f"ratio          {fast:7.2f} {cheap:16.2f}   (goal: 0.60)")
    said.append(
        f"one line, one tile after another: 99 of 100 within {waits[1]:.2f} ms, "
        f"the bare app {waits[0]:.2f} ms (goal: 1)"
    )
    if front["file"]:
        rates = {name: middle(found) for name, found in front.items()}
        said.append(
            f"behind nginx   {rates['door']:7.0f} a second, the bare app "
            f"{rates['bare']:.0f}, nginx's own file {rates['file']:.0f}: "
            f"{rates['door'] / rates['bare']:.2f} and {rates['door'] / rates['file']:.2f}"
        )
    else:
        said.append("nginx is not installed: not measured behind it")
    sys.stdout.write("\n".join(said) + "\n")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 3.0)
