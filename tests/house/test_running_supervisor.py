"""Children that must come back when they die, and go when their keeper goes."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from board.management.running import supervisor
from board.management.running.environment import CHECKOUT
from board.management.running.supervisor import Child, Supervisor

WAIT_S = 20.0
# A module the leash can run; it writes its number down and stays.
STAYS = """
import os, pathlib, sys, time
with open(sys.argv[1], "a") as file:
    file.write(f"{os.getpid()}\\n")
time.sleep(60)
"""
KEEPER = """
import sys
from board.management.running.supervisor import Child, Supervisor
keeper = Supervisor([Child("stayer", ["stays", sys.argv[1]])])
keeper.start()
raise SystemExit(keeper.run())
"""


@pytest.fixture
def modules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "stays.py").write_text(STAYS)
    (tmp_path / "dies.py").write_text("raise SystemExit(7)")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(supervisor, "LOOK_EVERY_S", 0.02)
    return tmp_path


def comes_true(ask: Callable[[], bool]) -> bool:
    until = time.monotonic() + WAIT_S
    while time.monotonic() < until:
        if ask():
            return True
        time.sleep(0.02)
    return False


def numbers(file: Path) -> list[int]:
    return [int(line) for line in file.read_text().split()] if file.exists() else []


def is_alive(pid: int) -> bool:
    with contextlib.suppress(OSError):
        os.kill(pid, 0)
        state = Path(f"/proc/{pid}/stat")
        return (
            not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] != "Z"
        )
    return False


@pytest.fixture
def keeper(modules: Path) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-c", KEEPER, str(modules / "pids")], cwd=CHECKOUT
    )


def test_a_worker_that_is_killed_comes_back(
    keeper: "subprocess.Popen[bytes]", modules: Path
) -> None:
    try:
        assert comes_true(lambda: len(numbers(modules / "pids")) == 1)
        os.kill(numbers(modules / "pids")[0], signal.SIGKILL)
        assert comes_true(lambda: len(numbers(modules / "pids")) == 2)
    finally:
        keeper.terminate()
        assert keeper.wait(WAIT_S) == 0
    assert comes_true(lambda: not any(map(is_alive, numbers(modules / "pids"))))


def test_no_child_outlives_a_keeper_that_is_killed_outright(
    keeper: "subprocess.Popen[bytes]", modules: Path
) -> None:
    assert comes_true(lambda: len(numbers(modules / "pids")) == 1)
    keeper.kill()
    keeper.wait(WAIT_S)
    assert comes_true(lambda: not is_alive(numbers(modules / "pids")[0]))


@pytest.mark.usefixtures("modules")
def test_a_server_that_does_not_stay_up_ends_the_command() -> None:
    said: list[str] = []
    child = Child("server", ["dies"], essential=True)
    keeper = Supervisor([child], say=said.append, essential_deaths=2)
    before = {number: signal.getsignal(number) for number in (2, 15, 1)}
    keeper.start()
    try:
        assert keeper.run() == 1
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    assert "code 7" in said[0]
    assert "does not stay up" in said[-1]
