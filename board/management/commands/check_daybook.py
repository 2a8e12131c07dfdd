"""Checks that no entry of the record was altered, taken out or put in between."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.books.models import Book
from board.daybook.models import Entry
from board.daybook.queries import book_keys, broken_at, heads
from board.slips.queries.replayed import differs


class Command(BaseCommand):
    """Walk each book's chain from its first entry."""

    help = "Check the daybook's chain of every book; --folder DIR names the board."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--folder", help="default: BOARD_FOLDER, or var")
        parser.add_argument(
            "--replay",
            action="store_true",
            help="also fold the record and compare standings and initials",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """`--folder DIR` is read by manage.py, before the board starts."""
        broken = [self._tell(key) for key in book_keys()]
        if any(broken):
            raise CommandError("The record does not hold together.")
        if options["replay"]:
            self._replay()

    def _replay(self) -> None:
        wrong = [told for book in Book.objects.all() for told in differs(book)]
        for told in wrong:
            self.stdout.write(told)
        if wrong:
            raise CommandError("The record and the board differ.")
        self.stdout.write("Replayed: the board stands as the record says.")

    def _tell(self, key: str) -> bool:
        count = Entry.objects.filter(book_key=key).count()
        number = broken_at(key)
        if number is None:
            self.stdout.write(f"{key}: {count} entries, whole, {heads()[key][:16]}")
            return False
        self.stdout.write(f"{key}: the chain breaks at entry {number} of {count}")
        return True
