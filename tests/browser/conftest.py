"""A real board, server and worker as children, and a real Chromium to look at it."""

import json
import os
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

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from board.management.running.browser import find
from tests.browser.axe import left_open

ROOT = Path(__file__).parents[2]
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]
WORKER = ["-m", "django", "db_worker", "--queue-name=*", "--no-startup-delay", "-v0"]
STARTS_WITHIN_S = 120
DRAWN = """new Promise((then) =>
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(then, 100))))"""
expect.set_options(timeout=20_000)  # a small machine with much to do


@dataclass
class House:
    """A running board: its address and environment, and who may come in how."""

    address: str
    env: dict[str, str]
    book: str
    item: str
    ways_in: dict[str, str]
    children: list[subprocess.Popen[bytes]]
    hung: str = ""
    agreed: str = ""
    doors: list[dict[str, Any]] = field(default_factory=list)
    signed_in: dict[str, Any] = field(default_factory=dict)  # browser state by role

    def url(self, path: str) -> str:
        return f"{self.address}{path}"

    @property
    def room(self) -> str:
        return self.url(f"/rooms/{self.item}/")


def run(*words: str, env: dict[str, str]) -> str:
    """Run a command of ours to its end; what it printed."""
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout


def environment(folder: Path) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return kept | {
        "BOARD_FOLDER": str(folder / "board"),
        "BOARD_STATIC": str(folder / "static"),
        "BOARD_SECRET": "only-for-the-browser-" * 3,
        "BOARD_INSECURE_LOCAL": "1",
        "BOARD_DISK_RESERVE": "1",
        "BOARD_HOSTS": "127.0.0.1",
        "DJANGO_SETTINGS_MODULE": "board.settings",
    }


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A board with a book, its cast, one spread open at sketch and one that hangs."""
    with board_with("tests.browser.people", tmp_path_factory.mktemp("house")) as made:
        yield made


@contextmanager
def board_with(program: str, folder: Path) -> Iterator[House]:
    """A running board with what a program of ours makes on it and tells of it."""
    (folder / "board").mkdir()
    with socket.create_server(("127.0.0.1", 0)) as taken:
        address = f"http://127.0.0.1:{taken.getsockname()[1]}"
        env = environment(folder) | {"BOARD_ADDRESS": address}
        run("-m", "django", "migrate", "-v0", env=env)
        run("-m", "django", "collectstatic", "--noinput", "-v0", env=env)
        told = json.loads(run("-m", program, env=env))
        children = _children(taken, env, folder)
        house = House(address, env, children=children, **told)
        try:
            _wait_for(house)
            yield house
        finally:
            for child in children:
                child.terminate()
            for child in children:
                child.wait(timeout=20)


def _children(
    taken: socket.socket, env: dict[str, str], folder: Path
) -> list[subprocess.Popen[bytes]]:
    server = ["-m", "board.management.running.web", str(taken.fileno())]
    started = []
    for name, words in (("server", server), ("worker", WORKER)):
        with (folder / f"{name}.log").open("wb") as log:
            child = subprocess.Popen(
                [sys.executable, *words],
                cwd=ROOT,
                env=env,
                stdout=log,
                stderr=log,
                pass_fds=[taken.fileno()],
            )
        started.append(child)
    return started


def _wait_for(house: House) -> None:
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        assert house.children[0].poll() is None, "the server ended"
        try:
            with urllib.request.urlopen(house.url("/people/sign-in/"), timeout=5):
                return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.2)
    raise AssertionError("the server did not answer in time")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all."""
    program = find()
    if program is None:
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=ARGS)
        yield browser
        browser.close()


class Looker:
    """Somebody signed in, with a page of their own and what went wrong on it."""

    def __init__(self, house: House, browser: Browser, who: str, **how: Any) -> None:
        self.house = house
        self.expects: tuple[str, ...] = ()
        kept = house.signed_in.get(who)
        self.context: BrowserContext = browser.new_context(storage_state=kept, **how)
        self.context.set_default_timeout(30_000)
        self.page: Page = self.context.new_page()
        self.wrong: list[str] = []
        self.page.on("pageerror", lambda error: self.wrong.append(str(error)))
        self.page.on("console", self._console)
        if kept is None:
            self._come_in(who)

    def _come_in(self, who: str) -> None:
        """Sign in by link, once a person: the door slows down whoever knocks often."""
        self.page.goto(self.house.url(self.house.ways_in[who]))
        self.page.locator("main form button").first.click()
        self.page.wait_for_url(lambda url: "/people/" not in url)
        self.house.signed_in[who] = self.context.storage_state()

    def _console(self, message: Any) -> None:  # playwright's own
        answers = ("422", "409", *self.expects)  # said by the board, not faults
        if message.type == "error" and not any(one in message.text for one in answers):
            self.wrong.append(message.text)

    def into(self, address: str) -> Page:
        self.page.goto(address)
        return self.page

    def see_no_violation(self) -> None:
        """Hold the page to WCAG 2.2 AA as far as axe-core 4.14 can tell.

        What axe leaves open (`incomplete`) must stand in the table of what was looked at
        by eye; anything new fails until somebody looked and said why it is right.
        """
        left = left_open(self.page)
        assert left == [], f"{self.page.url}: {json.dumps(left[:5], indent=1)}"

    def leave(self) -> None:
        self.context.close()
        assert self.wrong == [], self.wrong


@pytest.fixture
def looker(house: House, browser: Browser) -> Iterator[Any]:
    """Let somebody in: `looker("editor", viewport=...)`; all leave at the end."""
    inside: list[Looker] = []

    def let_in(who: str, **how: Any) -> Looker:  # as a browser context takes it
        inside.append(Looker(house, browser, who, **how))
        return inside[-1]

    yield let_in
    for one in inside:
        one.leave()
