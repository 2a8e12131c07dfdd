"""A board of its own with an open sitting, served by children that may be killed."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
STARTS_WITHIN_S = 60


@dataclass
class Served:
    """What is on the board, and its servers, each on an address of its own."""

    folder: Path
    env: dict[str, str]
    taken: list[socket.socket]
    told: dict[str, Any] = field(default_factory=dict)
    servers: list[subprocess.Popen[bytes]] = field(default_factory=list)

    @property
    def address(self) -> str:
        """The first server's."""
        return self.address_of(0)

    def address_of(self, who: int) -> str:
        """Of the server that serves the person of this place."""
        taken = self.taken[who % len(self.taken)]
        return f"http://127.0.0.1:{taken.getsockname()[1]}"

    def line(self, who: int, since: int = -1, sight: str = "") -> str:
        """The address of the sitting's live line for the person of this place."""
        path = f"live/{self.told['book']}/sittings/{self.told['sitting']}/"
        address = self.address_of(who).replace("http", "ws")
        return f"{address}/{path}?since={since}&sight={sight}"

    def headers(self, who: int) -> dict[str, str]:
        """How the person of this place is known, and that nobody forged it."""
        session = self.told["people"][who]["session"]
        token = "t" * 32
        cookie = f"sessionid={session}; csrftoken={token}"
        return {"Cookie": cookie, "X-CSRFToken": token}

    def start(self) -> None:
        """Serve on the sockets that stay open between servers."""
        module = "board.management.running.web"
        with (self.folder / "server.log").open("ab") as log:
            self.servers = [
                subprocess.Popen(
                    [sys.executable, "-m", module, str(taken.fileno())],
                    cwd=ROOT,
                    env=self.env,
                    stdout=log,
                    stderr=log,
                    pass_fds=[taken.fileno()],
                )
                for taken in self.taken
            ]
        until = time.monotonic() + STARTS_WITHIN_S
        for place in range(len(self.taken)):
            while not _answers(self.address_of(place)):
                assert time.monotonic() < until, "a server did not answer in time"
                time.sleep(0.1)

    def kill(self) -> None:
        """End the servers as a power cut would."""
        for server in self.servers:
            server.send_signal(signal.SIGKILL)
        for server in self.servers:
            server.wait(timeout=20)

    def worked_s(self) -> float:
        """Seconds of processor time that the servers took so far (Linux)."""
        ticks = 0
        for server in self.servers:
            told = Path(f"/proc/{server.pid}/stat").read_text(encoding="ascii")
            fields = told.rpartition(")")[2].split()
            ticks += int(fields[11]) + int(fields[12])  # proc(5): utime, stime
        return ticks / os.sysconf("SC_CLK_TCK")


def _answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(f"{address}/people/sign-in/", timeout=5):
            return True
    except (urllib.error.URLError, OSError, TimeoutError):
        return False


def environment(folder: Path, redis: str = "") -> dict[str, str]:
    """The variables of a board in this folder."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    (folder / "board").mkdir(parents=True, exist_ok=True)
    told = {
        "BOARD_FOLDER": str(folder / "board"),
        "BOARD_STATIC": str(folder / "static"),
        "BOARD_SECRET": "only-for-the-sitting-" * 3,
        "BOARD_INSECURE_LOCAL": "1",
        "BOARD_DISK_RESERVE": "1",
        "BOARD_HOSTS": "127.0.0.1",
        "DJANGO_SETTINGS_MODULE": "board.settings",
        "PYTHONPATH": str(ROOT),
    }
    return kept | told | ({"BOARD_REDIS_URL": redis} if redis else {})


def run(*words: str, env: dict[str, str]) -> str:
    """Run a module of ours to its end; what it printed."""
    done = subprocess.run(
        [sys.executable, "-m", *words],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout


@contextmanager
def served(
    folder: Path, people: int, redis: str = "", *, processes: int = 1
) -> Iterator[Served]:
    """Furnish a board and serve it until the block ends.

    Several processes want a Redis; each listens on an address of its own, as behind a
    proxy that spreads people over them.
    """
    assert redis or processes == 1, "several processes share live events by Redis"
    env = environment(folder, redis)
    taken = [socket.create_server(("127.0.0.1", 0)) for _ in range(processes)]
    board = Served(folder, env, taken)
    env["BOARD_ADDRESS"] = board.address
    run("django", "migrate", "-v0", env=env)
    run("django", "collectstatic", "--noinput", "-v0", env=env)
    board.told = json.loads(run("tests.sittings.furnish", str(people), env=env))
    board.start()
    try:
        yield board
    finally:
        board.kill()
        for one in taken:
            one.close()
