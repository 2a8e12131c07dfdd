"""`serve`: run a small studio's board from one folder."""

import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from accounts.actions import ensure_first_person, sign_in_link
from accounts.models import Person
from board.errors import BoardError
from board.management.running import mail, processes
from board.management.running.environment import LOOPBACK
from board.management.running.folder import disk_warning, make_ready

PROXY = """\
Behind a proxy that speaks TLS, start with --address https://board.example and give it:
  proxy_pass http://{host}:{port};
  proxy_set_header Host $host;
  proxy_set_header X-Forwarded-Proto $scheme;   proxy_set_header X-Forwarded-For \
$remote_addr;
  proxy_http_version 1.1;   proxy_set_header Upgrade $http_upgrade;
  proxy_set_header Connection "upgrade";   proxy_read_timeout 1h;
  proxy_request_buffering off;   client_max_body_size 0;"""


class Command(BaseCommand):
    """Run the board from one folder: first person, secret, tables, server, worker."""

    help = "Run a studio's board from one folder."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take where it lives, where it listens, and who comes first."""
        parser.add_argument("--folder", help="default: BOARD_FOLDER, or var")
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, help="default: 8000, or any free one")
        parser.add_argument("--address", help="as people type it: https://...")
        parser.add_argument("--first-name", help="the first person's name")
        parser.add_argument("--first-email", help="the first person's mail address")

    def handle(self, *, host: str, port: int | None, **options: Any) -> None:
        """Make it ready, find or make the first person, run it."""
        folder = Path(settings.BOARD_FOLDER)
        if (folder / "demo.txt").exists():
            raise CommandError(
                "This folder holds the demo book, whose ways in are open. Choose "
                "another one with --folder."
            )
        try:
            taken = processes.bind(host, port)
            at = taken.getsockname()[1]
            if not options["address"] and settings.INSECURE_LOCAL:
                settings.BOARD_ADDRESS = f"http://{host}:{at}"
            make_ready(folder)
            first = self.first_person(options["first_name"], options["first_email"])
            self.report(folder, host, at)
            code = processes.supervise(taken, lambda: self.welcome(first))
        except BoardError as problem:
            raise CommandError(str(problem)) from problem
        sys.exit(code)

    def first_person(self, name: str | None, email: str | None) -> Person | None:
        """Make the person named, who may make books; None when nobody is needed."""
        if not email and Person.objects.filter(keeps_house=True).exists():
            return None
        if not (name and email) and not sys.stdin.isatty():
            raise CommandError(
                "Nobody can look after this board yet. Start it with "
                '--first-name "..." --first-email ...'
            )
        name = name or input("Name of the first person: ")
        email = email or input("Their mail address: ")
        try:
            return ensure_first_person(name=name, email=email)
        except ValidationError as problem:
            raise CommandError(" ".join(problem.messages)) from problem

    def report(self, folder: Path, host: str, port: int) -> None:
        """Say what a board in earnest still needs."""
        self.stdout.write(f"Folder: {folder}")
        self.stdout.write(f"Listening on http://{host}:{port}")
        self.stdout.write(mail.sending())
        warning = disk_warning(folder)
        if warning:
            self.stderr.write(warning)
        if not settings.BOARD_ADDRESS.startswith("https://"):
            if host not in LOOPBACK:
                self.stderr.write("Without TLS nobody can sign in from outside.")
            self.stdout.write(PROXY.format(host=host, port=port))
        self.stdout.flush()

    def welcome(self, first: Person | None) -> None:
        """Print the address, and the first person's one-time way in."""
        address = settings.BOARD_ADDRESS
        self.stdout.write(f"\nThe board is open at {address}")
        if first:
            link = sign_in_link(first)
            self.stdout.write(
                f"Way in for {first.name}, once, for {settings.BOARD_LINK_MINUTES} "
                f"minutes:\n    {address}{link}"
            )
        self.stdout.write("Ctrl-C stops the board.")
        self.stdout.flush()
