"""A real server with nothing but the doors, as a child on a port of its own.

`python -m uvicorn tests.repro.serving:app` is what the child runs. Its hooks write to
the data folder, where the tests read what the board was told.
"""

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import uuid4

import django
import httpx
from django.conf import settings

from board.errors import WrongMove
from board.repro import store
from board.repro.answers import Receive, Scope, Send
from board.repro.tiles import TileIndex, tile

ROOT = Path(__file__).parents[2]
HOOKS = "tests.repro.serving"


# ------------------------------------------------- the hooks, as the board gives them


def created(payload: dict[str, Any], length: int, filename: str) -> str:
    if payload.get("refuse"):
        raise WrongMove("This stage is closed.")
    _told("created", payload=payload, length=length, filename=filename)
    return uuid4().hex


def arrived(upload_key: str, path: Path, sha256: str) -> None:
    if (store.data_folder() / "refuse-arrivals").exists():
        raise WrongMove("These are the bytes of the current revision.")
    _told("arrived", key=upload_key, sha256=sha256)
    store.keep_original(path, sha256)


def ended(upload_key: str) -> None:
    _told("ended", key=upload_key)


def _told(what: str, **more: Any) -> None:
    with (store.data_folder() / "told.jsonl").open("a", encoding="utf-8") as file:
        file.write(json.dumps({"what": what, **more}) + "\n")


def told(folder: Path, what: str) -> list[dict[str, Any]]:
    """Give what the hooks were told, in order."""
    path = folder / "told.jsonl"
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    return [said for said in map(json.loads, lines) if said["what"] == what]


# ---------------------------------------------------------------------- the server


async def app(scope: Scope, receive: Receive, send: Send) -> None:
    """The doors alone; `/bare` gives tiles without asking who wants them."""
    from board.repro.doors import doors  # noqa: PLC0415 - after settings are there

    if scope["type"] == "lifespan":
        while (await receive())["type"] != "lifespan.shutdown":
            await send({"type": "lifespan.startup.complete"})
        await send({"type": "lifespan.shutdown.complete"})
        return
    if scope["path"].startswith("/bare/"):
        await _bare(scope, send)
        return
    await doors(scope, receive, send)


_bodies: dict[str, bytes] = {}


async def _bare(scope: Scope, send: Send) -> None:
    """Give the tile `/bare/<key>/<level>/<column>_<row>` out of memory, unasked."""
    path = scope["path"]
    body = _bodies.get(path) or _bodies.setdefault(path, _stored(path))
    headers = [
        (b"content-type", b"image/jpeg"),
        (b"content-length", b"%d" % len(body)),
    ]
    await send({"type": "http.response.start", "status": 200, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _stored(path: str) -> bytes:
    _, _, key, level, place = path.split("/")
    column, row = map(int, place.split("_"))
    folder = store.picture_folder(key)
    index = TileIndex.load(folder / "laid.index")
    with (folder / "laid.tif").open("rb") as file:
        return tile(file.fileno(), index, int(level), column=column, row=row)


if os.environ.get("DOORS_FOLDER"):
    os.environ["BOARD_FOLDER"] = os.environ["DOORS_FOLDER"]
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    settings.BOARD_UPLOAD_HOOKS = HOOKS
    settings.BOARD_ACCEL = os.environ.get("BOARD_ACCEL", "")


@dataclass
class Server:
    """A uvicorn child on an inherited socket; it may be killed and started again."""

    folder: Path
    environment: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._socket = socket.socket()
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        # Accepted lines inherit it; uvicorn takes an inherited socket for a local one
        # and leaves Nagle's delay on, 40 ms an answer.
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._socket.bind(("127.0.0.1", 0))
        self._socket.listen(128)
        self.port: int = self._socket.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.http = httpx.Client(base_url=self.url, timeout=30)
        self.start()

    def start(self) -> None:
        number = self._socket.fileno()
        command = [sys.executable, "-m", "uvicorn", "tests.repro.serving:app"]
        self._child = subprocess.Popen(
            [*command, "--fd", str(number), "--no-access-log", "--log-level", "error"],
            cwd=ROOT,
            pass_fds=[number],
            env={**os.environ, "DOORS_FOLDER": str(self.folder), **self.environment},
        )

    def kill(self) -> None:
        """End it as a power cut does, then take it up again with `start`."""
        self._child.send_signal(signal.SIGKILL)
        self._child.wait(10)

    def stop(self) -> None:
        self._child.terminate()
        with suppress(subprocess.TimeoutExpired):
            self._child.wait(5)
        self._child.kill()
        self._child.wait(5)
        self.http.close()
        self._socket.close()

    def resident(self, what: str = "VmRSS") -> int:
        """Give the memory of the child in bytes, now or (VmHWM) at its highest."""
        status = Path(f"/proc/{self._child.pid}/status").read_text(encoding="ascii")
        line = next(row for row in status.splitlines() if row.startswith(what + ":"))
        return int(line.split()[1]) * 1024

    def cpu_s(self) -> float:
        """Give the processor time the child has used, in seconds."""
        told = Path(f"/proc/{self._child.pid}/stat").read_text(encoding="ascii")
        fields = told.rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def serving(folder: Path, **environment: str) -> Iterator[Server]:
    server = Server(folder, environment)
    try:
        yield server
    finally:
        server.stop()


class CuttingProxy:
    """A line to the server that is cut after so many bytes, once for each number."""

    def __init__(self, port: int, cuts: list[int]) -> None:
        self._to, self._cuts = port, list(cuts)
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.passed = self.made = 0
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._socket.accept()
                far = socket.create_connection(("127.0.0.1", self._to))
                for pair in ((near, far, True), (far, near, False)):
                    threading.Thread(target=self._pump, args=pair, daemon=True).start()

    def _pump(
        self,
        source: socket.socket,
        sink: socket.socket,
        counted: bool,  # noqa: FBT001 - passed on by the thread
    ) -> None:
        with suppress(OSError):
            while body := source.recv(65536):
                if counted and self._cuts and self.passed + len(body) > self._cuts[0]:
                    self._cuts.pop(0)
                    self.made += 1
                    break
                self.passed += len(body) if counted else 0
                sink.sendall(body)
        for end in (source, sink):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def close(self) -> None:
        self._socket.close()


def wait_until(true: Any, within_s: float = 10) -> None:
    """Wait for a condition, at most so long."""
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)
