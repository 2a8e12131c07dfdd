"""Loads the demo book as it stood on a day of its calendar."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.books.models import Book
from board.management.demo.replay import LAST_DAY, OPENS_ON, Replay


class Command(BaseCommand):
    """Draw the invented book and replay its calendar through the board's actions."""

    help = "Load the demo book by replaying its calendar up to a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--day", type=int, default=OPENS_ON)

    def handle(self, *args: Any, **options: Any) -> None:
        day = options["day"]
        if not 0 <= day <= LAST_DAY:
            raise CommandError(f"The demo opens on any day from 0 to {LAST_DAY}.")
        if Book.objects.exists():
            self.stdout.write("There is a book on this board already; nothing loaded.")
            return
        story = Replay(day, self._say).run()
        self.stdout.write(f"{story.the_book().title} as it stood on day {day}.")

    def _say(self, words: str) -> None:
        self.stdout.write(f"  {words}")
