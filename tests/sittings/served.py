"""A board of its own with an open sitting, served by a child that may be killed."""

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
    """The board's address, what is on it, and its server."""

    folder: Path
    env: dict[str, str]
    port: int
    told: dict[str, Any] = field(default_factory=dict)
    server: subprocess.Popen[bytes] | None = None
    taken: Any = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def line(self, since: int = -1, sight: str = "") -> str:
        """The address of the sitting's live line."""
        path = f"live/{self.told['book']}/sittings/{self.told['sitting']}/"
        return f"ws://127.0.0.1:{self.port}/{path}?since={since}&sight={sight}"

    def headers(self, who: int) -> dict[str, str]:
        """How the person of this place is known, and that nobody forged it."""
        session = self.told["people"][who]["session"]
        token = "t" * 32
        cookie = f"sessionid={session}; csrftoken={token}"
        return {"Cookie": cookie, "X-CSRFToken": token}

    def start(self) -> None:
        """Serve on the socket that stays open between servers."""
        with (self.folder / "server.log").open("ab") as log:
            self.server = subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "board.management.running.web",
                    str(self.taken.fileno()),
                ],
                cwd=ROOT,
                env=self.env,
                stdout=log,
                stderr=log,
                pass_fds=[self.taken.fileno()],
            )
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(
                    f"{self.address}/people/sign-in/", timeout=5
                ):
                    return
            except (urllib.error.URLError, OSError, TimeoutError):
                time.sleep(0.1)
        raise AssertionError("the server did not answer in time")

    def kill(self) -> None:
        """End the server as a power cut would."""
        if self.server is not None:
            self.server.send_signal(signal.SIGKILL)
            self.server.wait(timeout=20)


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
def served(folder: Path, people: int, redis: str = "") -> Iterator[Served]:
    """Furnish a board and serve it until the block ends."""
    env = environment(folder, redis)
    taken = socket.create_server(("127.0.0.1", 0))
    board = Served(folder, env, taken.getsockname()[1], taken=taken)
    env["BOARD_ADDRESS"] = board.address
    run("django", "migrate", "-v0", env=env)
    run("django", "collectstatic", "--noinput", "-v0", env=env)
    board.told = json.loads(run("tests.sittings.furnish", str(people), env=env))
    board.start()
    try:
        yield board
    finally:
        board.kill()
        taken.close()
