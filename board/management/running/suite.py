"""Everything the board is held to, in groups, cheapest first."""

import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from board.management.running.environment import CHECKOUT
from board.management.running.front_end import LIBRARIES, VENDOR
from board.management.running.steps import Step

SOURCES = ("board", "accounts", "tests", "fixtures", "manage.py")
SCRIPT_FOLDERS = ("static/js", "static/css", "tests/js")
TESTS_SETTINGS = {"DJANGO_SETTINGS_MODULE": "tests.settings"}
PYTEST_AT_MOST_S = 2400.0
UNIT = "not services and not browser and not slow"
# Whole files go to a worker, so that what a module makes once is made once.
SPREAD = ("-n", str(min(os.cpu_count() or 1, 8)), "--dist", "loadfile")
SLOW = "slow and not services and not browser"


@dataclass(frozen=True)
class Group:
    """Steps that are all run before anybody is told that one of them failed."""

    name: str
    steps: Callable[[], list[Step]]


def early_groups(path: str) -> list[Group]:
    """List what needs neither service nor browser; scripts run by Node on a PATH."""
    return [
        Group("lint", lambda: lint(path)),
        Group("scripts", lambda: scripts(path)),
        Group("types", lambda: types(path)),
        Group("settings", settings_checks),
        Group("unit", lambda: [pytest("unit tests", *SPREAD, "-m", UNIT)]),
    ]


def lint(path: str) -> list[Step]:
    """Hold form and arrows."""
    program = Path(sys.executable).parent
    steps = [
        Step("ruff check", [f"{program}/ruff", "check", "."]),
        Step("ruff format", [f"{program}/ruff", "format", "--check", "."]),
        Step("import contracts", [f"{program}/lint-imports", "--no-logo"]),
    ]
    templates = [str(page) for page in sorted(CHECKOUT.glob("*/templates/**/*.html"))]
    if templates:
        words = [f"{program}/djade", "--check", "--target-version=5.2"]
        steps.append(Step("djade", [*words, *templates]))
    if present := [name for name in SCRIPT_FOLDERS if (CHECKOUT / name).exists()]:
        words = ["node_modules/.bin/biome", "check", "--error-on-warnings", *present]
        steps.append(Step("biome", words, {"PATH": path}))
    return steps


def scripts(path: str) -> list[Step]:
    """Run the script tests, each file named: Node's versions read folders apart."""
    files = [str(file) for file in sorted(CHECKOUT.glob("tests/js/**/*.test.js"))]
    if not files:
        return []
    words = ["node", "--test", "--test-reporter=tap", *files]
    return [Step("script tests", words, {"PATH": path}, counts="tap")]


def types(path: str) -> list[Step]:
    """Hold the types of scripts and of Python."""
    steps = []
    if any(CHECKOUT.glob("static/js/**/*.js")):
        words = ["node_modules/.bin/tsc", "--project", "tsconfig.json"]
        steps.append(Step("tsc", words, {"PATH": path}))
    mypy = [sys.executable, "-m", "mypy", *SOURCES]
    steps.append(Step("mypy", mypy, TESTS_SETTINGS, at_most_s=600))
    return steps


def settings_checks() -> list[Step]:
    """Hold migrations, the settings a real board runs with, and the static files."""
    place = tempfile.mkdtemp(prefix="board-checks-")
    earnest = {
        "DJANGO_SETTINGS_MODULE": "board.settings",
        "BOARD_FOLDER": place,
        "BOARD_SECRET": os.urandom(48).hex(),
        "BOARD_ADDRESS": "https://board.example",
        "BOARD_HOSTS": "board.example",
        "BOARD_INSECURE_LOCAL": "",
        "BOARD_DEBUG": "",
        "BOARD_DEMO": "",
    }
    django = [sys.executable, "-m", "django"]
    libraries = [name for name in LIBRARIES if not (VENDOR / name).exists()]
    steps = [
        Step(
            "migrations complete",
            [*django, "makemigrations", "--check", "--dry-run"],
            TESTS_SETTINGS,
        ),
        Step(
            "deployment check",
            [*django, "check", "--deploy", "--fail-level", "WARNING"],
            earnest,
        ),
        Step("static files", [*django, "collectstatic", "--no-input"], earnest),
    ]
    if libraries:
        steps.append(Step(f"browser libraries {libraries}", ["false"]))
    return steps


def pytest(name: str, *words: str, **env: str) -> Step:
    """Describe one run of pytest."""
    return Step(name, words, env, counts="pytest", at_most_s=PYTEST_AT_MOST_S)


def slow_steps() -> list[Step]:
    """Run what takes its time: large files, many seeds."""
    return [pytest("slow tests", *SPREAD, "-m", SLOW)]


def service_steps(found: dict[str, str]) -> list[Step]:
    """Run what needs services, then the unit tests again with PostgreSQL underneath."""
    steps = [pytest("tests with services", "-m", "services and not browser", **found)]
    if "BOARD_TEST_DATABASE_URL" in found:
        without = ("--ignore=tests/imaging", "--ignore=tests/bench")
        words = (*SPREAD, "-m", UNIT, *without)
        steps.append(pytest("unit tests on PostgreSQL", *words, **found))
    return steps


def browser_steps(chromium: str) -> list[Step]:
    """Drive a real browser against a real server."""
    return [pytest("browser tests", "-m", "browser", BOARD_TEST_CHROMIUM=chromium)]


def chosen(words: Sequence[str], found: dict[str, str]) -> list[Step]:
    """Run only the tests asked for."""
    return [pytest("chosen tests", *words, **found)]
