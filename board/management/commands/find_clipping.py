"""`find_clipping`: look for a clipping in the art."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.errors import BoardError
from board.repro.seeking import as_json, seek_files


class Command(BaseCommand):
    """Look for one clipping in one picture, or many in one go."""

    help = "Say whether CLIPPING was pasted into ART, and where."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take two files, or a list of pairs."""
        parser.add_argument("clipping", nargs="?", type=Path)
        parser.add_argument("art", nargs="?", type=Path)
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument("--pairs", type=Path, help="a JSON list of pairs")
        parser.add_argument("--out", type=Path, help="where the JSON result goes")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Look once and print, or many times and write."""
        if options["pairs"]:
            self._many(options["pairs"], options["out"])
            return
        if not (options["clipping"] and options["art"]):
            raise CommandError("Name two pictures: find_clipping CLIPPING ART.")
        told = _one(options["clipping"], options["art"])
        if options["json"]:
            self.stdout.write(json.dumps(told, indent=1))
        elif "reason" in told:
            raise CommandError(told["reason"])
        else:
            self.stdout.write(_in_words(told))

    def _many(self, listed: Path, out: Path | None) -> None:
        try:
            pairs = {
                str(pair["id"]): (Path(pair["clipping"]), Path(pair["art"]))
                for pair in json.loads(listed.read_text())
            }
        except (OSError, ValueError, KeyError, TypeError) as wrong:
            raise CommandError(
                f"The list of pairs cannot be read: {wrong!r}. It holds one object "
                'a pair: "id", "clipping" and "art".'
            ) from wrong
        clips = {name: _one(*pair) for name, pair in pairs.items()}
        told = json.dumps({"clips": clips}, indent=1)
        if out:
            out.write_text(told)
            self.stdout.write(f"{len(pairs)} clippings looked for: {out}")
        else:
            self.stdout.write(told)


def _one(clipping: Path, art: Path) -> dict[str, Any]:
    try:
        return as_json(seek_files(clipping, art))
    except (BoardError, OSError) as refused:
        return {"found": False, "confidence": 0.0, "reason": str(refused)}


def _in_words(told: dict[str, Any]) -> str:
    if not told["found"]:
        return "Not found. That proves nothing: a small or flat piece cannot be seen."
    x, y, width, height = told["bbox"]
    return (
        f"Found, correlation {told['confidence']:.2f}, at x {x:.3f} y {y:.3f}, "
        f"width {width:.3f} height {height:.3f} of the art. Look yourself before you "
        "enter it."
    )
