"""The board's two processes, server and worker, and the socket between tries."""

import errno
import http.client
import socket
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import close_old_connections

from board.checks.tasks import sweep as sweep_checks
from board.clippings.tasks import sweep as sweep_searches
from board.errors import BoardError
from board.light_table.tasks import sweep as sweep_comparisons
from board.management.running.folder import disk_warning
from board.management.running.supervisor import Child, Supervisor
from board.post.tasks import sweep as sweep_post
from board.repro import store
from board.revisions.tasks import sweep as sweep_revisions

DEFAULT_PORT = 8000
LAST_PORT = 65535
WEB = "board.management.running.web"
SWEEPS = (
    sweep_revisions,
    sweep_comparisons,
    sweep_checks,
    sweep_searches,
    sweep_post,
)
READY_WITHIN_S = 30.0
FOLDER_SWEEP_S = 3600.0
RESULT_DAYS = 7


class PortTaken(BoardError):
    """Something else listens where the board was told to."""


def bind(host: str, port: int | None) -> socket.socket:
    """Take the port asked for; with none asked, the usual one or else any free one.

    It listens at once: a port that is only bound can be bound by another board, too.
    """
    wanted = DEFAULT_PORT if port is None else port
    if not 0 < wanted <= LAST_PORT:
        raise PortTaken(f"There is no port {port}. Choose one from 1 to {LAST_PORT}.")
    try:
        return listening(host, wanted)
    except OSError as problem:
        if problem.errno != errno.EADDRINUSE:
            raise PortTaken(
                f"The board cannot listen on {host}, port {wanted} "
                f"({problem.strerror}). Choose another --host or --port."
            ) from problem
        if port is not None:
            raise PortTaken(
                f"Something already listens on port {port}. Stop it, or choose another "
                "with --port."
            ) from problem
    return listening(host, 0)


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens there; 0 takes any free port."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    family, _, _, _, address = found[0]
    taken = socket.socket(family, socket.SOCK_STREAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind(address)
        taken.listen()
    except OSError:
        taken.close()
        raise
    return taken


def server(taken: socket.socket) -> Child:
    """Describe the server on a bound socket."""
    fd = taken.fileno()
    words = [WEB, str(fd)]
    address = {"BOARD_ADDRESS": settings.BOARD_ADDRESS}
    return Child("server", words, fds=(fd,), env=address, essential=True)


def worker() -> Child:
    """Describe the worker that prepares pictures."""
    words = ["django", "db_worker", "--queue-name=*", "--no-startup-delay", "-v0"]
    address = {"BOARD_ADDRESS": settings.BOARD_ADDRESS}
    return Child("worker", words, env=address)


def needs_worker() -> bool:
    """Say whether the queue is the board's own and no engine elsewhere works it off."""
    backend: str = settings.TASKS["default"]["BACKEND"]
    return backend.startswith("django_tasks_db.")


@dataclass
class Chores:
    """What is looked after every few seconds while the board runs."""

    folder: Path
    warned: str = ""
    folder_swept_at: float = float("-inf")

    def __call__(self) -> None:
        """Ring for work whose worker went away, and watch the room on the disk."""
        close_old_connections()
        for sweep in (*SWEEPS, self.sweep_folder):
            try:
                sweep()
            except Exception as problem:  # no chore may end the board
                again = f"The sweep will try again: {problem!r}"
                print(again, file=sys.stderr, flush=True)  # noqa: T201
        warning = disk_warning(self.folder)
        kind = warning.split("(")[0].split(":")[0]
        if warning and kind != self.warned:
            print(warning, file=sys.stderr, flush=True)  # noqa: T201
        self.warned = kind

    def sweep_folder(self) -> None:
        """Once an hour remove what kills and finished work have left behind."""
        if time.monotonic() - self.folder_swept_at > FOLDER_SWEEP_S:
            self.folder_swept_at = time.monotonic()
            store.sweep()
            forget_finished_work()


def forget_finished_work() -> None:
    """Take old results off the board's own queue; the rows of work themselves stay."""
    if needs_worker():
        days = f"--min-age-days={RESULT_DAYS}"
        call_command("prune_db_task_results", days, "--queue-name=*", verbosity=0)


def supervise(taken: socket.socket, ready: Callable[[], None]) -> int:
    """Run server and worker until told to stop; call `ready` once pages are served."""
    children = [server(taken)]
    if needs_worker():
        children.append(worker())
    keeper = Supervisor(children, chore=Chores(Path(settings.BOARD_FOLDER)))
    keeper.start()
    if answers(taken, children[0]):
        ready()
    return keeper.run()


def answers(taken: socket.socket, child: Child) -> bool:
    """Wait until the server answers; False when it died or takes too long."""
    host, port = taken.getsockname()[:2]
    until = time.monotonic() + READY_WITHIN_S
    while child.is_running() and time.monotonic() < until:
        line = http.client.HTTPConnection(host, port, timeout=5)
        try:
            line.request("HEAD", "/", headers={"Host": "localhost"})
            line.getresponse()
        except OSError:
            time.sleep(0.1)
        else:
            return True
        finally:
            line.close()
    return False
