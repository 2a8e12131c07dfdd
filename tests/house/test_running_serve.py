"""A studio's board in earnest, from an empty folder to a person at its door."""

import os
import re
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

from board.management.running.environment import CHECKOUT

pytestmark = pytest.mark.services  # server and worker, for seconds

OPEN_WITHIN_S = 90.0
FIRST = ("--first-name", "Ada Wren", "--first-email", "ada@example.org")


class Served:
    """A board that runs in a folder of its own."""

    def __init__(self, folder: Path, *words: str) -> None:
        hidden = ("BOARD_", "DJANGO_")
        env = {k: v for k, v in os.environ.items() if not k.startswith(hidden)}
        self.said = folder.with_suffix(".said.txt")
        with self.said.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "serve", "--folder", str(folder), *words],
                cwd=CHECKOUT,
                env={**env, "PYTHONUNBUFFERED": "1"},
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
            )

    def words(self) -> str:
        return self.said.read_text()

    def opened(self) -> str:
        """Wait until it is open; give its address."""
        until = time.monotonic() + OPEN_WITHIN_S
        while self.process.poll() is None and time.monotonic() < until:
            if "Ctrl-C stops" in self.words():
                found = re.search(r"open at (\S+)", self.words())
                assert found
                return found[1]
            time.sleep(0.05)
        raise AssertionError(self.words())


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    board = Served(tmp_path / "studio", *FIRST)
    yield board
    board.process.kill()
    board.process.wait()


def test_an_empty_folder_becomes_a_board_that_lets_the_first_person_in(
    served: Served, tmp_path: Path
) -> None:
    address = served.opened()
    folder = tmp_path / "studio"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "secret.txt").stat().st_mode) == 0o600
    said = served.words()
    assert "Way in for Ada Wren, once" in said
    assert "Mail: not set up" in said
    assert "client_max_body_size 0" in said
    assert (folder / "secret.txt").read_text().strip() not in said

    link = re.search(r"^\s+(http\S+)$", said, re.M)
    assert link
    with urlopen(Request(link[1]), timeout=10) as page:
        assert page.status == 200
        assert "Ada Wren" in page.read().decode()
    assert link[1].startswith(address)

    served.process.send_signal(signal.SIGTERM)
    assert served.process.wait(20) == 0


def test_without_a_first_person_and_nobody_to_ask_it_says_what_to_give(
    tmp_path: Path,
) -> None:
    board = Served(tmp_path / "studio")
    assert board.process.wait(OPEN_WITHIN_S) != 0
    assert "--first-name" in board.words()
    assert "Traceback" not in board.words()
