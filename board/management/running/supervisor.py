"""Keeps the board's processes going, and takes them down together."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import FrameType

from board.management.running.environment import CHECKOUT

LEASH = "board.management.running.leash"
LOOK_EVERY_S = 0.5
QUICK_DEATH_S = 10.0
LONGEST_WAIT_S = 30.0
GRACE_S = 8.0


@dataclass
class Child:
    """A process to keep going; it ends with us even when we are killed."""

    name: str
    words: Sequence[str]
    fds: tuple[int, ...] = ()
    env: Mapping[str, str] = field(default_factory=dict)
    essential: bool = False
    process: subprocess.Popen[bytes] | None = None
    quick_deaths: int = 0
    started_at: float = 0.0
    not_before: float = 0.0
    leash: int = -1

    def start(self) -> None:
        """Start it on a fresh leash, out of reach of the terminal's Ctrl-C."""
        self.drop_leash()
        theirs, self.leash = os.pipe()
        words = [sys.executable, "-m", LEASH, str(theirs), *self.words]
        try:
            self.process = subprocess.Popen(  # noqa: S603 - our own words
                words,
                cwd=CHECKOUT,
                env={**os.environ, **self.env},
                pass_fds=(theirs, *self.fds),
                stdin=subprocess.DEVNULL,
                start_new_session=True,
            )
        finally:
            os.close(theirs)
        self.started_at = time.monotonic()

    def drop_leash(self) -> None:
        """Let go of the pipe that keeps it alive."""
        if self.leash >= 0:
            os.close(self.leash)
            self.leash = -1

    def is_running(self) -> bool:
        """Say whether it runs at this moment."""
        return self.process is not None and self.process.poll() is None

    def died(self) -> bool:
        """Say whether it has ended, and note how soon."""
        if self.process is None or self.process.poll() is None:
            return False
        quick = time.monotonic() - self.started_at < QUICK_DEATH_S
        self.quick_deaths = self.quick_deaths + 1 if quick else 0
        wait = min(LONGEST_WAIT_S, 2.0**self.quick_deaths - 1)
        self.not_before = time.monotonic() + wait
        return True

    def stop(self, deadline: float) -> None:
        """Ask it to end, and insist at the deadline."""
        if self.process is None:
            return
        try:
            self.process.wait(max(0.0, deadline - time.monotonic()))
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.drop_leash()


@dataclass
class Supervisor:
    """Starts children, starts again the ones that die, and calls a chore regularly."""

    children: Iterable[Child]
    chore: Callable[[], None] = lambda: None
    chore_every_s: float = 10.0
    say: Callable[[str], object] = print
    essential_deaths: int = 5
    stopping: threading.Event = field(default_factory=threading.Event)

    def start(self) -> None:
        """Start every child."""
        for child in self.children:
            child.start()

    def run(self) -> int:
        """Keep them going until a signal or a hopeless child; return the exit code."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._stop)
        code = 0
        next_chore = time.monotonic() + self.chore_every_s
        try:
            while not self.stopping.wait(LOOK_EVERY_S):
                if not all(self._look_after(child) for child in self.children):
                    code = 1
                    break
                if time.monotonic() >= next_chore:
                    self.chore()
                    next_chore = time.monotonic() + self.chore_every_s
        finally:
            self.stop()
        return code

    def stop(self) -> None:
        """End every child: first a word to all, then the deadline for all."""
        for child in self.children:
            if child.process and child.is_running():
                child.process.terminate()
        deadline = time.monotonic() + GRACE_S
        for child in self.children:
            child.stop(deadline)

    def _stop(self, _number: int, _frame: FrameType | None) -> None:
        self.stopping.set()

    def _look_after(self, child: Child) -> bool:
        """Start it again when it died; False when that is hopeless."""
        if child.process is not None and child.died():
            self.say(f"The {child.name} ended (code {child.process.returncode}).")
            child.process = None
            if child.essential and child.quick_deaths >= self.essential_deaths:
                self.say(f"The {child.name} does not stay up: the lines above say why.")
                return False
        if child.process is None and time.monotonic() >= child.not_before:
            self.say(f"Starting the {child.name} again.")
            child.start()
        return True
