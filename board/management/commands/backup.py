"""`backup`: write the whole board into one file, while it runs."""

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from board.errors import BoardError
from board.management.running import archive, snapshot

KEPT = ("originals", "pictures")


class Command(BaseCommand):
    """Write record, originals and pictures into one verified file."""

    help = "Write record, originals and pictures into one verified file."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take where to write and which board."""
        parser.add_argument("out", type=Path, help="OUT.tar, or a folder to put it in")
        parser.add_argument("--folder", help="the board's folder")

    def handle(self, *, out: Path, **_options: Any) -> None:
        """Take the database first, then the files it names."""
        if out.is_dir():
            out /= f"board-{timezone.now():%Y%m%d-%H%M%S}.tar"
        if out.exists():
            raise CommandError(f"{out} is there already. Choose another name.")
        if not out.parent.is_dir():
            raise CommandError(f"There is no folder {out.parent} to write into.")
        folder = Path(settings.BOARD_FOLDER)
        try:
            with tempfile.TemporaryDirectory(dir=out.parent) as place:
                name, dump, facts, named = snapshot.take(Path(place))
                files = {name: dump, **self.files(folder)}
                digest = archive.write(out, files, facts)
                self.warn_of_originals(named, archive.read_manifest(out)[0].members)
        except (BoardError, OSError) as problem:
            raise CommandError(f"No backup was written. {problem}") from problem
        size = out.stat().st_size / 1e6
        self.stdout.write(
            f"Written and read back: {out} ({len(files)} files, {size:.1f} MB).\n"
            f"Its number: {digest}\n"
            "Keep the number apart from the file; `restore --number` proves with it "
            "that nobody changed the file.\n"
            "Not in it: the secret and unfinished uploads."
        )

    def files(self, folder: Path) -> dict[str, Path]:
        """List originals and pictures that are whole."""
        found = {}
        for top in KEPT:
            for path in sorted((folder / top).rglob("*")):
                name = path.relative_to(folder).as_posix()
                if path.is_file() and archive.LAWFUL.fullmatch(name):
                    found[name] = path
        return found

    def warn_of_originals(self, named: set[str], members: Mapping[str, str]) -> None:
        """Say which originals the record names are missing or not what they were."""
        kept = {
            name.rsplit("/", 1)[-1]: digest
            for name, digest in members.items()
            if name.startswith("originals/")
        }
        for sha256 in sorted(named - kept.keys()):
            self.stderr.write(f"The original {sha256} is missing from the folder.")
        for sha256, digest in sorted(kept.items()):
            if sha256 != digest:
                self.stderr.write(
                    f"The original {sha256} has changed on the disk. Bring it back from "
                    "an older backup."
                )
