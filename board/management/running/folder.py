"""A board's folder made ready: tables, static files, room on the disk."""

import hashlib
import shutil
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from board.management.running import front_end
from board.management.running.snapshot import copy_sqlite

GIB = 1024**3
LOW_BELOW = 10 * GIB


def make_ready(folder: Path) -> None:
    """Bring the browser libraries, the tables and the static files up to date."""
    for name in ("originals", "pictures", "parts"):
        (folder / name).mkdir(exist_ok=True)
    front_end.bring_libraries()
    if copy := copy_before_upgrade(folder):
        print(f"Bringing the tables up to date; as they were: {copy}", flush=True)  # noqa: T201
    call_command("migrate", interactive=False, verbosity=0)
    collect_static(Path(settings.STATIC_ROOT))


def copy_before_upgrade(folder: Path) -> Path | None:
    """Copy a board's SQLite file aside when its tables are about to change."""
    if connection.vendor != "sqlite" or not connection.introspection.table_names():
        return None
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return None
    copy = folder / f"before-upgrade-{timezone.now():%Y%m%d-%H%M%S}.sqlite3"
    copy_sqlite(Path(connection.settings_dict["NAME"]), copy)
    return copy


def collect_static(root: Path) -> bool:
    """Hash and press the static files, unless none changed since; say whether it did.

    It takes seconds, most of a second start.
    """
    stamp = root / "sources.txt"
    now = _sum_of_sources()
    if stamp.exists() and stamp.read_text(encoding="utf-8") == now:
        return False
    stamp.unlink(missing_ok=True)
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp.write_text(now, encoding="utf-8")
    return True


def _sum_of_sources() -> str:
    digest = hashlib.sha256()
    for finder in get_finders():
        for name, storage in finder.list([]):
            told = Path(storage.path(name)).stat()
            digest.update(f"{name} {told.st_size} {told.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def disk_warning(folder: Path) -> str:
    """Say how little room is left, or nothing while there is plenty."""
    free: int = shutil.disk_usage(folder).free
    reserve: int = settings.BOARD_DISK_RESERVE
    if free <= reserve:
        return (
            f"The disk is nearly full ({free / GIB:.1f} GiB free): uploads are refused "
            "until there is room. Back up, then free some space."
        )
    if free < LOW_BELOW + reserve:
        return (
            f"The disk runs low: {free / GIB:.1f} GiB free. Uploads stop below "
            f"{reserve / GIB:.1f} GiB."
        )
    return ""
