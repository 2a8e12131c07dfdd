"""The folder and the settings a command starts with, chosen before Django is read.

Standard library only: `manage.py` calls this while no settings are loaded yet.
"""

import os
import secrets
import sys
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import urlsplit

CHECKOUT = Path(__file__).resolve().parents[3]
# They touch no board, so they take the tests' settings and need no secret.
WITHOUT_A_BOARD = frozenset({"test", "vendor", "makemigrations"})
# They read files, or a board of their own: any secret does, and an existing board's is left alone.
FILES_ONLY = frozenset(
    {"bench", "check_picture", "compare", "find_clipping", "restore", "soak"}
)
# The demo must never reach a real board's database, mail or secret.
HIDDEN_FROM_DEMO = ("BOARD_DATABASE_URL", "BOARD_MAIL_URL", "BOARD_SECRET")
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})


def choose_environment(words: Sequence[str]) -> None:
    """Put folder, secret and settings module of this command into the environment."""
    command = words[0] if words else "help"
    settings = "tests.settings" if command in WITHOUT_A_BOARD else "board.settings"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings)
    folder = option(words, "--folder")
    if folder and command not in WITHOUT_A_BOARD:
        os.environ["BOARD_FOLDER"] = str(Path(folder).expanduser().resolve())
    if command == "demo":
        choose_demo(folder_given=bool(folder))
    elif command == "serve":
        choose_address(option(words, "--address"), option(words, "--host"))
        secure_folder(board_folder())
    elif command in FILES_ONLY:  # "restore": an empty folder has no secret yet
        os.environ["BOARD_SECRET"] = secrets.token_urlsafe(64)
    elif command == "load_demo":
        os.environ.setdefault("BOARD_DEMO", "1")


def choose_demo(*, folder_given: bool) -> None:
    """Open the demo's own folder with its doors, and hide any real board's."""
    for name in HIDDEN_FROM_DEMO:
        os.environ.pop(name, None)
    if not folder_given:
        os.environ["BOARD_FOLDER"] = str(CHECKOUT / "var" / "demo")
    os.environ["BOARD_DEMO"] = os.environ["BOARD_INSECURE_LOCAL"] = "1"
    secure_folder(board_folder())


def choose_address(address: str | None, host: str | None) -> None:
    """Take the public address; without one, plain http on this machine only."""
    if address:
        os.environ["BOARD_ADDRESS"] = address.rstrip("/")
    public = os.environ.get("BOARD_ADDRESS", "")
    name = urlsplit(public).hostname
    if name and name not in LOOPBACK:
        os.environ.setdefault("BOARD_HOSTS", f"{name},localhost,127.0.0.1,[::1]")
        os.environ.setdefault("BOARD_ORIGINS", public)
    if not public.startswith("https://") and (host or "127.0.0.1") in LOOPBACK:
        os.environ.setdefault("BOARD_INSECURE_LOCAL", "1")


def board_folder() -> Path:
    """Return the folder this board lives in."""
    return Path(os.environ.setdefault("BOARD_FOLDER", str(CHECKOUT / "var")))


def secure_folder(folder: Path) -> None:
    """Make the folder and its secret, readable by their owner alone."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        if not os.environ.get("BOARD_SECRET"):
            keep_secret(folder)
    except OSError as problem:
        sys.exit(
            f"The board cannot live in {folder} ({problem.strerror}). Choose a folder "
            "that you may write to, with --folder."
        )


def keep_secret(folder: Path) -> None:
    """Write a new secret unless the folder holds one."""
    kept = folder / "secret.txt"
    if kept.exists():
        kept.chmod(0o600)
        return
    handle = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(secrets.token_urlsafe(64) + "\n")


def option(words: Sequence[str], name: str) -> str | None:
    """Return the value given for an option as `--name value` or `--name=value`."""
    for at, word in enumerate(words):
        if word == name and at + 1 < len(words):
            return words[at + 1]
        if word.startswith(f"{name}="):
            return word[len(name) + 1 :]
    return None
