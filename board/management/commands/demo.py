"""`demo`: open the demo book on this machine."""

import shutil
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from accounts.actions import sign_in_link
from accounts.models import Person
from board.books.models import Credit
from board.errors import BoardError
from board.management.running import processes
from board.management.running.folder import make_ready

FIRST_DAY = 26
MARK = "demo.txt"
HALF_DONE = "loading"


class Command(BaseCommand):
    """Load the demo book and run the board with it."""

    help = "Open the demo book: makes everything, prints an address and ways in."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the port, the folder, the day, and whether to begin anew."""
        parser.add_argument("--port", type=int, help="default: 8000, or any free one")
        parser.add_argument("--folder", help="default: var/demo")
        parser.add_argument("--day", type=int, default=FIRST_DAY, help="default: 26")
        parser.add_argument("--fresh", action="store_true", help="empty it first")

    def handle(
        self, *, port: int | None, day: int, fresh: bool, **_options: Any
    ) -> None:
        """Make it ready, load it, run it."""
        folder = Path(settings.BOARD_FOLDER)
        if not settings.BOARD_DEMO:
            raise CommandError("Start the demo as: python3 manage.py demo")
        try:
            taken = processes.bind("127.0.0.1", port)
            address = f"http://127.0.0.1:{taken.getsockname()[1]}"
            settings.BOARD_ADDRESS = address
            if fresh or self.mark_in(folder) == HALF_DONE:
                self.empty(folder)
            self.stdout.write("Preparing tables and pages.")
            make_ready(folder)
            self.load(folder, day)
            code = processes.supervise(taken, lambda: self.welcome(address))
        except BoardError as problem:
            raise CommandError(str(problem)) from problem
        sys.exit(code)

    def mark_in(self, folder: Path) -> str:
        """Give the day this folder's demo stands on, or nothing without one."""
        mark = folder / MARK
        return mark.read_text(encoding="utf-8").strip() if mark.exists() else ""

    def load(self, folder: Path, day: int) -> None:
        """Load the demo book unless it is there, on the day asked for."""
        there = self.mark_in(folder)
        if there:
            if there != str(day):
                self.stdout.write(
                    f"This folder holds day {there}. For day {day} start with --fresh "
                    "(it empties the folder) or with another --folder."
                )
            return
        if Person.objects.exists():
            raise CommandError(
                "This folder holds a board that is not a demo. Choose another --folder."
            )
        self.stdout.write(f"Painting and loading the demo book, day {day}.")
        mark = folder / MARK
        mark.write_text(HALF_DONE, encoding="utf-8")
        call_command("load_demo", day=day, stdout=self.stdout)
        mark.write_text(f"{day}\n", encoding="utf-8")

    def empty(self, folder: Path) -> None:
        """Empty a folder that holds a demo, and no other."""
        ours = folder == settings.BASE_DIR / "var" / "demo"
        if not ours and not (folder / MARK).exists():
            raise CommandError(f"{folder} holds no demo, so it is not emptied.")
        for thing in folder.iterdir():
            if thing.name == "secret.txt":
                continue
            if thing.is_dir():
                shutil.rmtree(thing)
            else:
                thing.unlink()

    def welcome(self, address: str) -> None:
        """Print the address and one way in for each of the cast."""
        lines = ["", f"The board is open at {address}", "", "Come in as:"]
        for person in Person.objects.filter(is_active=True).order_by("id"):
            live = Credit.objects.filter(person=person, ended_at=None)
            roles = ", ".join(sorted(set(live.values_list("role", flat=True))))
            who = f"{person.name} ({roles or 'no credit'})"
            link = sign_in_link(person, many_times=True)
            lines.append(f"  {who:<44} {address}{link}")
        lines += ["", "These links work on this machine only. Ctrl-C stops the board."]
        self.stdout.write("\n".join(lines))
        self.stdout.flush()
