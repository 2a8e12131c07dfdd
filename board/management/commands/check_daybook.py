"""Checks that no entry of the record was altered, taken out or put in between."""

import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from board.daybook.models import Entry
from board.daybook.queries import book_keys, broken_at, heads


class Command(BaseCommand):
    """Walk each book's chain from its first entry."""

    help = "Check the daybook's chain of every book (or of one folder's board)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--folder", help="the board's folder (BOARD_FOLDER)")

    def handle(self, *args: Any, **options: Any) -> None:
        folder = options["folder"]
        if folder and folder != os.environ.get("BOARD_FOLDER"):
            raise CommandError(
                "Call it as `python3 manage.py check_daybook --folder DIR`; manage.py "
                "sets the folder before the board starts."
            )
        broken = [self._tell(key) for key in book_keys()]
        if any(broken):
            raise CommandError("The record does not hold together.")

    def _tell(self, key: str) -> bool:
        count = Entry.objects.filter(book_key=key).count()
        number = broken_at(key)
        if number is None:
            self.stdout.write(f"{key}: {count} entries, whole, {heads()[key][:16]}")
            return False
        self.stdout.write(f"{key}: the chain breaks at entry {number} of {count}")
        return True
