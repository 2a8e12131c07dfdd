"""A long random walk through sign-off on a board of its own; prints its seed."""

import subprocess
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser


class Command(BaseCommand):
    """Let everybody do anything, many times over, and hold the invariants."""

    help = "Walk at random through sign-off: soak --events 100000 --seed 7 [--sitting]"

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--events", type=int, default=2000)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument(
            "--faults",
            action="store_true",
            help="make each deliberate fault instead, and say which invariant catches it",
        )
        parser.add_argument(
            "--sitting",
            action="store_true",
            help="cut clients and kill the server of an open sitting instead",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        words = [str(options["events"]), str(options["seed"])]
        if options["faults"]:
            words = ["faults"]
        module = "tests.sittings.soak" if options["sitting"] else "tests.slips.soak"
        done = subprocess.run(  # noqa: S603 - our own module, by fixed name
            [sys.executable, "-m", module, *words],
            cwd=settings.BASE_DIR,
            check=False,
        )
        if done.returncode:
            raise CommandError("An invariant did not hold; the seed is printed above.")
