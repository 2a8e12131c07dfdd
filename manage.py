#!/usr/bin/env python3
"""Start any command of the board: find or make the environment, then hand over.

Only the standard library is used, in a syntax that Python 3.8 can read, so that an
old python3 still gets a plain sentence instead of a syntax error.
"""
# ruff: noqa: S603, S606 - it only starts Python, pip, uv and apt, by fixed words.

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import importlib.metadata
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
VENV_PYTHON = VENV / "bin" / "python"
STAMP = VENV / "installed.json"
NEWEST_FIRST = ("python3.14", "python3.13", "python3.12", "python3.11")
OLDEST = (3, 11)
BASE_LOCK = "requirements.lock"
TEST_LOCK = "requirements-test.lock"
# These make the environment when it is missing; any other command only uses it.
SETTERS_UP = ("demo", "serve", "test", "vendor", "backup", "restore", "setup")
# These load no part of the board, so that they still run when it is broken.
STAND_ALONE = ("test", "vendor")


def main() -> None:
    """Run the command in sys.argv inside an environment that satisfies the lock."""
    words = sys.argv[1:]
    command = words[0] if words else "help"
    if sys.version_info < OLDEST:
        hand_to_newer_python()
    if command in SETTERS_UP or not inside_an_environment():
        ensure_environment(TEST_LOCK if command == "test" else BASE_LOCK)
    if command == "setup":
        say(f"The environment is ready: {sys.prefix}")
        return
    hand_to_django(words)


def hand_to_django(words: list[str]) -> None:
    """Let Django find and run the command, its folder chosen first."""
    sys.path.insert(0, str(HERE))
    from board.management.running.environment import (  # noqa: PLC0415 - path first
        choose_environment,
    )

    choose_environment(words)
    try:
        from django.conf import settings  # noqa: PLC0415
        from django.core.exceptions import ImproperlyConfigured  # noqa: PLC0415
        from django.core.management import execute_from_command_line  # noqa: PLC0415
    except ImportError:
        stop("Django is missing here. Run: python3 manage.py setup")
    if words and words[0] in STAND_ALONE:
        settings.configure()
        module = importlib.import_module(f"board.management.commands.{words[0]}")
        module.Command().run_from_argv([sys.argv[0], *words])
        return
    try:
        execute_from_command_line([sys.argv[0], *words])
    except ImproperlyConfigured as problem:
        stop(str(problem))
    except KeyboardInterrupt:
        stop("Stopped.")


def hand_to_newer_python() -> NoReturn:
    """Start again with a Python that is new enough, or say what to install."""
    for name in NEWEST_FIRST:
        found = shutil.which(name)
        if found and runs(found):
            os.execv(found, [found, *sys.argv])
    version = sys.version.split()[0]
    stop(
        f"The board needs Python 3.11 or newer; this is {version}. Install it:\n"
        "    Debian, Ubuntu:  sudo apt-get install python3.11 python3.11-venv\n"
        "    macOS:           brew install python@3.13\n"
        "and start the same command again."
    )


def runs(python: str) -> bool:
    """Say whether this interpreter starts and is new enough."""
    test = f"import sys; sys.exit(sys.version_info < {OLDEST})"
    return subprocess.call([python, "-c", test], stderr=subprocess.DEVNULL) == 0


def inside_an_environment() -> bool:
    """Say whether this Python runs in a virtual environment already."""
    return sys.prefix != sys.base_prefix


def ensure_environment(lock: str) -> None:
    """Return only inside an environment that satisfies the lock; else make it."""
    in_ours = Path(sys.prefix) == VENV
    if in_ours and stamped(lock):
        return
    if not in_ours and satisfies(lock):
        return
    with one_at_a_time():
        if not stamped(lock):
            started = time.monotonic()
            make_environment()
            install(lock)
            say(f"Environment ready after {time.monotonic() - started:.0f} s.")
    if not in_ours:
        os.execv(str(VENV_PYTHON), [str(VENV_PYTHON), *sys.argv])


def digest(lock: str) -> str:
    """Return the SHA-256 of a lock file."""
    return hashlib.sha256((HERE / lock).read_bytes()).hexdigest()


def stamped(lock: str) -> bool:
    """Say whether .venv was filled from this very lock."""
    try:
        return bool(json.loads(STAMP.read_text()).get(lock) == digest(lock))
    except (OSError, ValueError):
        return False


def satisfies(lock: str) -> bool:
    """Say whether the running environment holds every version the lock names."""
    pin = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^\s;\\]+)([^\\]*)", re.M)
    for name, version, marker in pin.findall((HERE / lock).read_text()):
        try:
            if importlib.metadata.version(name) != version:
                return False
        except importlib.metadata.PackageNotFoundError:
            if ";" not in marker:
                return False
    return True


@contextlib.contextmanager
def one_at_a_time() -> Iterator[None]:
    """Keep two commands started together from filling .venv twice."""
    (HERE / "var").mkdir(exist_ok=True)
    with (HERE / "var" / "setup.lock").open("w") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def make_environment() -> None:
    """Make .venv unless a working one is there."""
    if VENV_PYTHON.exists() and runs(str(VENV_PYTHON)):
        return
    if not importlib.util.find_spec("ensurepip"):
        bring_venv()
    say(f"Making the environment in .venv with Python {sys.version.split()[0]}.")
    if subprocess.call([sys.executable, "-m", "venv", "--clear", str(VENV)]):
        stop("Python could not make .venv here: the lines above say why.")


def bring_venv() -> None:
    """Install Python's venv package where that is allowed, or print the one line."""
    package = f"python3.{sys.version_info[1]}-venv"
    apt = shutil.which("apt-get")
    rights = administrator()
    if not apt or rights is None:
        stop(
            "This Python cannot make environments yet. Install the missing part:\n"
            f"    sudo apt-get install {package}\n"
            "and start the same command again."
        )
    say(f"Installing {package}, which this Python lacks.")
    install = ["install", "-qq", "-y", "--no-install-recommends", package]
    failed = quietly([*rights, apt, *install])
    if failed:  # the lists may be missing, or too old
        quietly([*rights, apt, "update", "-qq"])
        failed = quietly([*rights, apt, *install])
    if failed:
        stop("That failed. Install it by hand:\n    sudo apt-get install " + package)


def quietly(words: list[str]) -> int:
    """Run a system command that asks nothing and shows only its errors."""
    env = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    nothing = subprocess.DEVNULL
    return subprocess.call(words, env=env, stdin=nothing, stdout=nothing)


def administrator() -> list[str] | None:
    """Return what to put before a system command, or None without the right."""
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if sudo and subprocess.call([sudo, "-n", "true"], stderr=subprocess.DEVNULL) == 0:
        return [sudo, "-n"]
    return None


def install(lock: str) -> None:
    """Fill .venv from the lock, every file held against its hash."""
    say(f"Installing from {lock}.")
    locked = ["--require-hashes", "-r", str(HERE / lock)]
    uv = find_uv()
    python = str(VENV_PYTHON)
    done = False
    if uv:
        command = [uv, "pip", "install", "--quiet", "--python", python, *locked]
        trusting = dict(os.environ, UV_SYSTEM_CERTS="true", UV_NATIVE_TLS="true")
        done = subprocess.call(command, env=trusting) == 0
        if not done:
            say("uv could not do it; pip tries the same.")
    if not done and pip(*locked) != 0:
        stop(
            "The packages could not be installed: the lines above say why. When the\n"
            "network was at fault, start the same command again."
        )
    written = {lock: digest(lock)}
    if lock == TEST_LOCK:  # it holds the other one's versions too
        written[BASE_LOCK] = digest(BASE_LOCK)
    STAMP.write_text(json.dumps(written))


def find_uv() -> str | None:
    """Return a uv to install with, bringing one into .venv when it is missing."""
    own = VENV / "bin" / "uv"
    if not own.exists():
        on_path = shutil.which("uv")
        if on_path:
            return on_path
        pip("--require-hashes", "-r", str(HERE / ".ci" / "uv.lock"))
    return str(own) if own.exists() else None


def pip(*words: str) -> int:
    """Install with the environment's own pip."""
    options = ["-qq", "--disable-pip-version-check", "--no-input"]
    command = [str(VENV_PYTHON), "-m", "pip", "install", *options, *words]
    return subprocess.call(command)


def say(line: str) -> None:
    """Print one line about what is being done."""
    print(line, flush=True)  # noqa: T201


def stop(line: str) -> NoReturn:
    """End with a sentence that says what to do."""
    print(line, file=sys.stderr, flush=True)  # noqa: T201
    raise SystemExit(1)


if __name__ == "__main__":
    main()
