"""`restore`: bring a backup back into an empty folder."""

import shutil
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, connections
from django.db.migrations.loader import MigrationLoader

from accounts.models import SignInLink
from board.errors import BoardError
from board.management.running import archive, record, snapshot
from board.management.running.environment import keep_secret


class Command(BaseCommand):
    """Bring a backup back into an empty folder and prove that it is the same."""

    help = "Bring a backup back into an empty folder and prove that it is the same."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the backup, the empty folder and the number that was kept."""
        parser.add_argument("backup", type=Path)
        parser.add_argument("--folder", required=True, help="a new or empty folder")
        parser.add_argument("--number", help="the number that `backup` printed")

    def handle(self, *, backup: Path, number: str | None, **_options: Any) -> None:
        """Check first, then write; leave the folder as it was when anything fails."""
        folder = Path(settings.BOARD_FOLDER)
        if not backup.is_file():
            raise CommandError(f"There is no backup {backup}.")
        if folder.exists() and any(folder.iterdir()):
            raise CommandError(
                f"{folder} is not empty. Restore into a new folder, so that nothing "
                "is overwritten."
            )
        existed = folder.exists()
        try:
            facts = self.checked(backup, number)
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            folder.chmod(0o700)
            archive.unpack(backup, folder)
            self.prove(folder, facts)
        except (BoardError, OSError) as problem:
            self.undo(folder, existed=existed)
            raise CommandError(str(problem)) from problem
        keep_secret(folder)
        self.stdout.write(
            f"Restored into {folder}: the same daybook, standings and rows.\n"
            f"It has a new secret, so everybody signs in again. Start it with:\n"
            f"    python3 manage.py serve --folder {folder}"
        )

    def checked(self, backup: Path, number: str | None) -> dict[str, Any]:
        """Return the facts of a backup this board can hold."""
        manifest, digest = archive.read_manifest(backup)
        if number and number != digest:
            raise archive.BackupDamaged(
                f"{backup.name} is not the backup with that number: its own is "
                f"{digest}. Nothing was restored."
            )
        facts = dict(manifest.facts)
        if facts["engine"] != connection.vendor:
            raise archive.BackupDamaged(
                f"This backup holds a {facts['engine']} database and this board is set "
                f"to {connection.vendor}. Set BOARD_DATABASE_URL to match."
            )
        known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations or {}
        ours = {f"{app}.{name}" for app, name in known}
        if newer := sorted(set(facts["migrations"]) - ours):
            raise archive.BackupDamaged(
                f"This backup was made by a newer board ({newer[-1]}). Bring this one "
                "up to date first."
            )
        return facts

    def prove(self, folder: Path, facts: dict[str, Any]) -> None:
        """Hold what came back to what was written down; then walk the daybook."""
        dump = folder / snapshot.POSTGRES_NAME
        if dump.exists():
            snapshot.bring_back_postgres(dump)
            dump.unlink()
        connections["default"].close()
        if wrong := record.differences(facts, record.facts()):
            raise archive.BackupDamaged(
                f"What came back is not the same: {', '.join(wrong)}. Nothing was kept."
            )
        Session.objects.all().delete()  # who was in when it was taken comes in anew
        SignInLink.objects.all().delete()
        try:
            call_command("check_daybook", stdout=self.stdout)
        except CommandError as problem:  # it is as it was: that is what a restore owes
            self.stderr.write(f"It was so when the backup was taken: {problem}")

    def undo(self, folder: Path, *, existed: bool) -> None:
        """Take away what was written."""
        connections["default"].close()
        shutil.rmtree(folder, ignore_errors=True)
        if existed:
            folder.mkdir(mode=0o700, exist_ok=True)
