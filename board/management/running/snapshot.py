"""The database as it was at one moment, taken while the board runs."""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db import connection, connections, transaction

from board.errors import BoardError
from board.management.running import record

SQLITE_NAME = "board.sqlite3"
POSTGRES_NAME = "database.pgdump"


class DatabaseNotCopied(BoardError):
    """The database could not be written out or read in."""


def take(place: Path) -> tuple[str, Path, dict[str, Any], set[str]]:
    """Write the database into a folder: its name, file, facts and named originals."""
    if connection.vendor == "sqlite":
        return _take_sqlite(place / SQLITE_NAME)
    return _take_postgres(place / POSTGRES_NAME)


def _take_sqlite(out: Path) -> tuple[str, Path, dict[str, Any], set[str]]:
    copy_sqlite(Path(connection.settings_dict["NAME"]), out)
    with opened(out) as using:
        return SQLITE_NAME, out, record.facts(using), record.originals_named(using)


def copy_sqlite(live: Path, out: Path) -> None:
    """Copy a SQLite file as it is at one moment, while it is written to."""
    with (
        closing(sqlite3.connect(live, timeout=20)) as source,
        closing(sqlite3.connect(out)) as target,
    ):
        source.backup(target)  # one step: under WAL it holds up no writer
        target.execute("PRAGMA journal_mode=DELETE")
        sound = target.execute("PRAGMA integrity_check").fetchone()[0]
    out.chmod(0o600)
    if sound != "ok":
        raise DatabaseNotCopied(f"The database is damaged: SQLite says {sound}.")


@contextmanager
def opened(database: Path) -> Iterator[str]:
    """Give Django an alias for another SQLite file while it is needed."""
    alias = "snapshot"
    settings = {**connections["default"].settings_dict, "NAME": str(database)}
    settings["OPTIONS"] = {}
    connections.databases[alias] = settings
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.databases[alias]


def _take_postgres(out: Path) -> tuple[str, Path, dict[str, Any], set[str]]:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        moment = cursor.fetchone()[0]
        told, named = record.facts("default"), record.originals_named("default")
        words = ["--format=custom", "--no-owner", f"--snapshot={moment}"]
        _postgres_tool("pg_dump", [*words, f"--file={out}"])
    return POSTGRES_NAME, out, told, named


def bring_back_postgres(dump: Path) -> None:
    """Read a dump into the database of BOARD_DATABASE_URL, which must be empty."""
    if connection.introspection.table_names():
        raise DatabaseNotCopied(
            "The database of BOARD_DATABASE_URL is not empty. Make a new one "
            "(createdb) and name that."
        )
    name = connection.settings_dict["NAME"]
    words = ["--no-owner", "--single-transaction", f"--dbname={name}", str(dump)]
    _postgres_tool("pg_restore", words)


def _postgres_tool(name: str, words: Sequence[str]) -> None:
    tool = shutil.which(name)
    if not tool:
        raise DatabaseNotCopied(
            f"This board keeps its record in PostgreSQL and {name} is not on this "
            "machine. Install it (Debian: apt-get install postgresql-client) and "
            "start again."
        )
    told = connection.settings_dict
    env = {
        "PGHOST": told["HOST"],
        "PGPORT": str(told["PORT"]),
        "PGUSER": told["USER"],
        "PGPASSWORD": told["PASSWORD"],
        "PGDATABASE": told["NAME"],
    }
    env = {**os.environ, **{key: value for key, value in env.items() if value}}
    done = subprocess.run(  # noqa: S603 - our own words
        [tool, *words], env=env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise DatabaseNotCopied(f"{name} could not do it: {done.stderr.strip()}")
