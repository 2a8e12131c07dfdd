"""`compare`: lay one file on another and say what changed."""

import json
from pathlib import Path
from typing import Any

import cv2
from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.errors import BoardError
from board.repro.comparing import Compared, as_json, compare_files, drawn

NOTHING = "Nothing changed that can be measured."
BY_PLAN = "Laid across manners: only the plan can be compared, colours are not."


class Command(BaseCommand):
    """Compare two files, or many pairs in one go."""

    help = "Lay AFTER on BEFORE and print how sure that is and what changed."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take two files, or a list of pairs."""
        parser.add_argument("before", nargs="?", type=Path)
        parser.add_argument("after", nargs="?", type=Path)
        parser.add_argument(
            "--across-stages",
            action="store_true",
            help="one is drawn and the other painted",
        )
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument(
            "--picture", type=Path, help="draw older, newer laid over it, change map"
        )
        parser.add_argument("--pairs", type=Path, help="a JSON list of pairs")
        parser.add_argument("--out", type=Path, help="where the JSON result goes")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Compare one pair and print, or many and write."""
        if options["pairs"]:
            self._many(options["pairs"], options["out"])
            return
        if not (options["before"] and options["after"]):
            raise CommandError("Name two pictures: compare BEFORE AFTER.")
        try:
            compared = compare_files(
                options["before"],
                options["after"],
                across_manners=options["across_stages"],
            )
        except (BoardError, OSError) as refused:
            raise CommandError(_because(refused)) from refused
        if options["picture"]:
            _save(options["picture"], compared)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(compared), indent=1))
        else:
            self._print(compared)

    def _many(self, listed: Path, out: Path | None) -> None:
        try:
            pairs = {
                str(pair["id"]): (
                    Path(pair["before"]),
                    Path(pair["after"]),
                    bool(pair.get("across_stages", False)),
                )
                for pair in json.loads(listed.read_text())
            }
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as wrong:
            raise CommandError(
                f"The list of pairs cannot be read: {wrong!r}. It holds one object "
                'a pair: "id", "before", "after" and, if so, "across_stages".'
            ) from wrong
        result = {"pairs": {name: _one(*pair) for name, pair in pairs.items()}}
        if out:
            out.write_text(json.dumps(result, indent=1))
            self.stdout.write(f"{len(pairs)} pairs compared: {out}")
        else:
            self.stdout.write(json.dumps(result, indent=1))

    def _print(self, compared: Compared) -> None:
        found = compared.registration
        if found.matrix is None:
            self.stdout.write(f"Not laid. {found.reason}")
            return
        self.stdout.write(
            f"Laid, confidence {found.confidence:.2f}, "
            f"error bar {100 * found.error_bar:.3f} % of the diagonal."
        )
        for row in found.matrix:
            self.stdout.write("  " + "  ".join(f"{value: .6g}" for value in row))
        if compared.changes is None:
            self.stdout.write(BY_PLAN)
            return
        self.stdout.write("" if compared.changes.regions else NOTHING, ending="\n")
        for at, place in enumerate(compared.changes.regions, start=1):
            self.stdout.write(
                f"{at:3}. x {place.x:.3f} y {place.y:.3f} "
                f"width {place.w:.3f} height {place.h:.3f}: "
                f"dE00 {place.mean:.1f} (peak {place.peak:.1f}), "
                f"{100 * place.area:.2f} % of the picture"
            )


def _one(before: Path, after: Path, across: bool) -> dict[str, Any]:  # noqa: FBT001
    try:
        compared = compare_files(before, after, across_manners=across)
    except (BoardError, OSError) as refused:
        return {"registered": False, "confidence": 0.0, "reason": _because(refused)}
    return as_json(compared)


def _because(refused: BoardError | OSError) -> str:
    if isinstance(refused, OSError):
        return f"{refused.filename} cannot be read: {refused.strerror}."
    return str(refused)


def _save(path: Path, compared: Compared) -> None:
    try:
        written = cv2.imwrite(str(path), drawn(compared)[..., ::-1])
    except cv2.error as wrong:
        raise CommandError(f"No picture can be written as {path.name}.") from wrong
    if not written:
        raise CommandError(f"The picture could not be written to {path}.")
