"""PostgreSQL and Redis of the tests' own, on free ports of this machine."""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from board.errors import BoardError

POSTGRES_USER = "postgres"
START_WITHIN_S = 30.0


class ServiceDidNotStart(BoardError):
    """A service is installed and does not come up."""


def postgres_programs() -> Path | None:
    """Return the folder of the newest PostgreSQL server here, or None."""
    homes = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = sorted(homes, key=lambda path: float(path.parts[-3]))
    if newest:
        return newest[-1].parent
    found = shutil.which("initdb")
    return Path(found).parent if found else None


def redis_program() -> str | None:
    """Return the Redis server here, or None."""
    return shutil.which("redis-server")


@contextmanager
def running(*, postgres: bool, redis: bool) -> Iterator[dict[str, str]]:
    """Run the services asked for; give the variables by which the tests find them."""
    with ExitStack() as stack:
        found = {}
        if postgres:
            found["BOARD_TEST_DATABASE_URL"] = stack.enter_context(_postgres())
        if redis:
            found["BOARD_TEST_REDIS_URL"] = stack.enter_context(_redis())
        yield found


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        port: int = asked.getsockname()[1]
        return port


@contextmanager
def _postgres() -> Iterator[str]:
    programs, port = postgres_programs(), free_port()
    if programs is None:
        raise ServiceDidNotStart("PostgreSQL is not on this machine.")
    # The server refuses to run as root, so root lends it to the system's own user.
    user = POSTGRES_USER if os.geteuid() == 0 else None
    with tempfile.TemporaryDirectory(prefix="board-pg-", dir="/tmp") as place:
        if user:
            os.chown(place, pwd.getpwnam(user).pw_uid, -1)
        cluster = f"{place}/cluster"
        make = [str(programs / "initdb"), "--auth=trust", "--username=board"]
        words = [*make, "--encoding=UTF8", "--no-sync", "-D", cluster]
        done = subprocess.run(  # noqa: S603 - our own words
            words, user=user, cwd=place, capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise ServiceDidNotStart(f"initdb failed: {done.stderr.strip()}")
        settings = {
            "listen_addresses": "127.0.0.1",
            "port": str(port),
            "unix_socket_directories": place,
            "fsync": "off",
            "full_page_writes": "off",
        }
        options = [f"--{name}={value}" for name, value in settings.items()]
        words = [str(programs / "postgres"), "-D", cluster, *options]
        with _child(words, place, port, user=user, end=signal.SIGINT):
            yield f"postgres://board@127.0.0.1:{port}/board"


@contextmanager
def _redis() -> Iterator[str]:
    program, port = redis_program(), free_port()
    if program is None:
        raise ServiceDidNotStart("Redis is not on this machine.")
    with tempfile.TemporaryDirectory(prefix="board-redis-") as place:
        words = [program, "--port", str(port), "--bind", "127.0.0.1"]
        words += ["--save", "", "--appendonly", "no", "--dir", place]
        with _child(words, place, port):
            yield f"redis://127.0.0.1:{port}/0"


@contextmanager
def _child(
    words: Sequence[str],
    place: str,
    port: int,
    *,
    user: str | None = None,
    end: signal.Signals = signal.SIGTERM,
) -> Iterator[None]:
    """Run a server until the block ends; give the block only once it listens."""
    said = Path(place, "said.txt")
    with said.open("wb") as out:
        process = subprocess.Popen(  # noqa: S603 - our own words
            words, user=user, cwd=place, stdout=out, stderr=subprocess.STDOUT
        )
    try:
        until = time.monotonic() + START_WITHIN_S
        while not _listens(port):
            if process.poll() is not None or time.monotonic() > until:
                raise ServiceDidNotStart(
                    f"{Path(words[0]).name} did not start: "
                    f"{said.read_text(errors='replace')[-2000:]}"
                )
            time.sleep(0.05)
        yield
    finally:
        process.send_signal(end)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _listens(port: int) -> bool:
    with socket.socket() as line:
        line.settimeout(1)
        return line.connect_ex(("127.0.0.1", port)) == 0
