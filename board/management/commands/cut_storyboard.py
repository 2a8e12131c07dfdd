"""`cut_storyboard`: find the frames on a sheet of thumbnails."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.errors import BoardError
from board.repro.storyboards import as_json, cut_file


class Command(BaseCommand):
    """Cut one storyboard sheet, or many in one go."""

    help = "Find the frames on SHEET, in reading order, and say whether to ask."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take a file, or a list of them."""
        parser.add_argument("sheet", nargs="?", type=Path)
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument("--sheets", type=Path, help="a JSON list of sheets")
        parser.add_argument("--out", type=Path, help="where the JSON result goes")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Cut once and print, or many times and write."""
        if options["sheets"]:
            self._many(options["sheets"], options["out"])
            return
        if not options["sheet"]:
            raise CommandError("Name a sheet: cut_storyboard SHEET.")
        told = _one(options["sheet"])
        if options["json"]:
            self.stdout.write(json.dumps(told, indent=1))
        elif "reason" in told:
            raise CommandError(told["reason"])
        else:
            self.stdout.write(_in_words(told))

    def _many(self, listed: Path, out: Path | None) -> None:
        try:
            sheets = json.loads(listed.read_text())
            named = [(str(one["id"]), Path(one["sheet"])) for one in sheets]
        except (OSError, ValueError, KeyError, TypeError) as wrong:
            raise CommandError(f"The list of sheets cannot be read: {wrong}") from wrong
        told = json.dumps(
            {"sheets": {key: _one(path) for key, path in named}}, indent=1
        )
        if out:
            out.write_text(told)
            self.stdout.write(f"{len(named)} sheets cut: {out}")
        else:
            self.stdout.write(told)


def _one(sheet: Path) -> dict[str, Any]:
    try:
        return as_json(cut_file(sheet))
    except (BoardError, OSError) as refused:
        return {"frames": [], "sure": False, "reason": str(refused)}


def _in_words(told: dict[str, Any]) -> str:
    lines = [
        f"{number:3}  "
        + "  ".join(f"{x:7.1f},{y:7.1f}" for x, y in frame["corners"])
        + f"   {frame['confidence']:.2f}"
        for number, frame in enumerate(told["frames"], 1)
    ]
    many = len(lines)
    head = (
        f"{many} frames, corners clockwise from the top left:" if many else "No frames."
    )
    why = "; ".join(told["doubts"])
    tail = "Sure." if told["sure"] else f"Not sure: {why}. Look before you use it."
    return "\n".join([head, *lines, tail])
