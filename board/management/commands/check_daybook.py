"""Checks that no entry of the record was altered, taken out or put in between."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from board.daybook.models import Entry
from board.daybook.queries import book_keys, broken_at, heads


class Command(BaseCommand):
    """Walk each book's chain from its first entry."""

    help = "Check the daybook's chain of every book; --folder DIR names the board."

    def handle(self, *args: Any, **options: Any) -> None:
        """`--folder DIR` is read by manage.py, before the board starts."""
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
