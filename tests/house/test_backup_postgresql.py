"""A board that keeps its record in PostgreSQL comes back the same, too."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest

from board.management.running import archive, services
from board.management.running.environment import CHECKOUT
from tests.house.test_backup import FILL

SERVER = os.environ.get("BOARD_TEST_DATABASE_URL", "").rsplit("/", 1)[0]
pytestmark = [
    pytest.mark.services,
    pytest.mark.skipif(not SERVER, reason="needs a PostgreSQL of the tests' own"),
]


@pytest.fixture
def databases() -> Iterator[list[str]]:
    names = [f"house_{uuid4().hex[:12]}" for _ in range(2)]
    with psycopg.connect(f"{SERVER}/postgres", autocommit=True) as line:
        for name in names:
            line.execute(f'CREATE DATABASE "{name}"'.encode())
        yield [f"{SERVER}/{name}" for name in names]
        for name in names:
            line.execute(f'DROP DATABASE "{name}" WITH (FORCE)'.encode())


def run(database: str, folder: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    kept = {k: v for k, v in os.environ.items() if not k.startswith("BOARD_")}
    tools = f"{services.postgres_programs()}{os.pathsep}{kept['PATH']}"
    env = {**kept, "PATH": tools, "BOARD_DATABASE_URL": database}
    env |= {"BOARD_FOLDER": str(folder), "BOARD_SECRET": "for this test only " * 4}
    env |= {"DJANGO_SETTINGS_MODULE": "board.settings"}
    return subprocess.run(
        [sys.executable, *words],
        cwd=CHECKOUT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_dump_taken_at_one_moment_comes_back_the_same(
    databases: list[str], tmp_path: Path
) -> None:
    one, two = databases
    here, back = tmp_path / "here", tmp_path / "back"
    here.mkdir()
    filled = run(one, here, "-c", FILL)
    assert filled.returncode == 0, filled.stderr

    first, second = tmp_path / "first.tar", tmp_path / "second.tar"
    written = run(one, here, "manage.py", "backup", str(first))
    assert written.returncode == 0, written.stderr

    words = ("manage.py", "restore", str(first), "--folder")
    done = run(two, back, *words, str(back))
    assert done.returncode == 0, done.stderr
    assert not (back / "database.pgdump").exists()

    refused = run(two, tmp_path / "third", *words, str(tmp_path / "third"))
    assert "is not empty" in refused.stderr

    assert run(two, back, "manage.py", "backup", str(second)).returncode == 0
    before, after = archive.read_manifest(first)[0], archive.read_manifest(second)[0]
    assert before.facts == after.facts
    assert "hung" in before.facts["standing"].values()
