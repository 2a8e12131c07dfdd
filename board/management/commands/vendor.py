"""`vendor`: bring the browser libraries."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.management.running import front_end


class Command(BaseCommand):
    """Bring the browser libraries into static/vendor."""

    help = "Bring the browser libraries (and with --tools the script tools) by npm."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take whether the script tools are wanted too."""
        parser.add_argument("--tools", action="store_true", help="node_modules too")

    def handle(self, *, tools: bool, **_options: Any) -> None:
        """Bring what is missing and say so."""
        try:
            if tools:
                with front_end.node() as path:
                    front_end.bring_tools(path)
            worked = front_end.bring_libraries()
        except front_end.FrontEndMissing as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write("Brought." if worked else "Already there.")
