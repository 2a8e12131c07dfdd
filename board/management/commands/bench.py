"""Prints figures: runs one of the measurements in tests/bench; none fails on time."""

import subprocess
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

BENCHES = Path(settings.BASE_DIR) / "tests" / "bench"


class Command(BaseCommand):
    """Run a measurement in a process of its own, so that memory is its own too."""

    help = "Measure: bench imaging | tiles | ingest | pages ..."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", choices=sorted(self.names()))
        parser.add_argument("words", nargs="*", help="passed on to the measurement")

    @staticmethod
    def names() -> dict[str, str]:
        """Short names and the modules they stand for."""
        found = [path.stem for path in BENCHES.glob("[a-z]*.py") if _is_bench(path)]
        return {stem.removesuffix("_bench"): stem for stem in found}

    def handle(self, *args: Any, **options: Any) -> None:
        module = self.names()[options["what"]]
        words = [sys.executable, "-m", f"tests.bench.{module}"]
        done = subprocess.run(  # noqa: S603 - our own module, by fixed name
            [*words, *options["words"]], cwd=settings.BASE_DIR, check=False
        )
        if done.returncode:
            raise CommandError("The measurement stopped before its end.")


def _is_bench(path: Path) -> bool:
    return "__main__" in path.read_text("utf-8")
