"""`check_picture`: hold one file against trim, bleed, fold, type boxes and press."""

import json
import math
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from board.books.rules import STAGES, Stage
from board.checks.queries.terms import order_of
from board.checks.rules import Finding, Source, Terms, worst
from board.checks.rules.judging import judge
from board.errors import BoardError, NotUnderstood
from board.repro.profiles import STAND_IN
from board.repro.sheets import SheetSize
from board.repro.trials import HowLaid, Trial, read_press, try_file

INCH = 25.4
SIDES = ("x", "y", "width", "height")
NO_TRIM = (
    "Without a trim nothing can be measured: say --trim 254x254 for a spread of two "
    "such pages, and --single with it for one page. Lengths are millimetres."
)
INK_LIMIT, MOST_MM = 300.0, 3000.0
SENSIBLE = {
    "bleed": (0.0, 50.0, "mm"),
    "gutter": (0.0, 100.0, "mm"),
    "ink_limit": (100.0, 400.0, "per cent"),
    "extent": (1, 2000, "pages"),
}
CAUTION = "Colour and ink are estimates from one profile; the printer's proof decides."


def _pair(typed: str, between: str, what: str) -> tuple[float, float]:
    try:
        one, two = (float(part) for part in typed.lower().split(between))
        int(one), int(two)  # neither infinite nor no number
    except (ValueError, OverflowError):
        raise CommandError(f"{what}: write it like 254{between}254.") from None
    return one, two


def _require_sense(options: dict[str, Any]) -> None:
    """Say at once which figure cannot be meant."""
    for name, (low, high, unit) in SENSIBLE.items():
        given = options[name]
        if given is not None and not low <= given <= high:
            told = name.replace("_", "-")
            raise CommandError(f"--{told} lies between {low:g} and {high:g} {unit}.")
    for name in ("file", "profile", "boxes", "on"):
        if options[name] is not None and not options[name].is_file():
            raise CommandError(f"There is no file {options[name]}.")


class Command(BaseCommand):
    """Check one file with the arithmetic that checks every revision."""

    help = "Say what would go wrong with FILE in print: clear, warn or stop."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take a file, its sheet, how it lies, and what it is held against."""
        add = parser.add_argument
        add("file", type=Path)
        add("--trim", default="", help="of one page in mm, 254x254")
        add("--single", action="store_true", help="one page, not a spread of two")
        add("--bleed", type=float, default=0.125 * INCH, help="mm, 3.175 unless said")
        add("--gutter", type=float, default=0.375 * INCH, help="band each side, mm")
        add("--pages", default="0-0", help="6-7; says where sections meet")
        add("--extent", type=int, default=32, help="pages of the book")
        add("--stage", choices=[stage.value for stage in STAGES], default="final")
        add("--ppi", default="300,200", help="warn below, stop below")
        add("--profile", type=Path, help=f"a CMYK output profile; else {STAND_IN}")
        add("--ink-limit", type=float, help="per cent, 300 unless said")
        add("--boxes", type=Path, help="JSON: [{sort, label, x, y, width, height}]")
        add("--lies", choices=["bled", "trimmed"], default="bled")
        add("--corners", help="of the trim, clockwise: x,y x,y x,y x,y of the picture")
        add("--on", type=Path, help="lay it by registration on this file")
        add("--across-stages", action="store_true", help="drawn and painted")
        add("--maps", type=Path, help="folder for soft proof, gamut and ink maps")
        add("--json", action="store_true", help="print JSON")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Lay, measure, judge and print."""
        _require_sense(options)
        sheet = _sheet(options)
        try:
            profile = _profile(options["profile"])
            with tempfile.TemporaryDirectory(prefix="board-check-") as folder:
                tried = try_file(options["file"], _how(options), sheet, Path(folder))
                terms = _terms(options, sheet, tried, press=profile)
                order = order_of(terms, [], profile=str(options["profile"] or ""))
                if options["maps"]:
                    options["maps"].mkdir(parents=True, exist_ok=True)
                seen = tried.measured(order, options["maps"])
        except (BoardError, OSError) as refused:
            raise CommandError(str(refused)) from refused
        findings = [_as_asked(found) for found in judge(seen, terms)]
        if options["json"]:
            told = _as_json(findings, seen, tried)
            self.stdout.write(json.dumps(told, indent=1))
            return
        for found in findings:
            self.stdout.write(_in_words(found))
        if not profile:
            self.stdout.write(f"No --profile was given: {STAND_IN} was taken.")
        self.stdout.write(CAUTION)


def _sheet(options: dict[str, Any]) -> SheetSize:
    if not options["trim"]:
        raise CommandError(NO_TRIM)
    width, height = _pair(options["trim"], "x", "The trim")
    if min(width, height) <= 0:
        raise CommandError(NO_TRIM)
    if max(width, height) > MOST_MM:
        raise CommandError(f"A page of the trim is at most {MOST_MM:g} mm long.")
    return SheetSize(
        width if options["single"] else 2 * width, height, options["bleed"]
    )


def _how(options: dict[str, Any]) -> HowLaid:
    corners = tuple(
        _pair(part, ",", "A corner") for part in (options["corners"] or "").split()
    )
    if corners and len(corners) != 4:
        raise CommandError("The trim has four corners; give all of them.")
    return HowLaid(options["lies"], corners, options["on"], options["across_stages"])


def _profile(path: Path | None) -> str:
    return read_press(path) if path else ""


def _terms(
    options: dict[str, Any], sheet: SheetSize, tried: Trial, *, press: str
) -> Terms:
    first, last = _pair(options["pages"], "-", "The pages")
    warn, stop = _pair(options["ppi"], ",", "The limits of ppi")
    return Terms(
        stage=Stage(options["stage"]),
        pages=(int(first), int(last)),
        extent=options["extent"],
        sheet_mm=(sheet.width_mm, sheet.height_mm),
        bleed_mm=sheet.bleed_mm,
        gutter_mm=options["gutter"],
        ppi_warn=int(warn),
        ppi_stop=int(stop),
        ink_limit=options["ink_limit"] or INK_LIMIT,
        ink_source=Source.ASKED if options["ink_limit"] else Source.PRACTICE,
        bleed_source=Source.ASKED,
        press=press,
        double=not options["single"],
        picture=tried.size,
        declared=tried.declared,
        error_bar_mm=tried.placed.error_bar_mm,
        mode=tried.seen.mode,
        boxes=_boxes(options["boxes"]),
    )


def _boxes(path: Path | None) -> list[dict[str, Any]]:
    if path is None:
        return []
    try:
        read = json.loads(path.read_text("utf-8"))
        return [
            {
                "key": str(at),
                "sort": str(box["sort"]),
                "label": str(box.get("label", "")),
                **{side: _finite(box[side]) for side in SIDES},
            }
            for at, box in enumerate(read)
        ]
    except (ValueError, TypeError, KeyError, AttributeError) as wrong:
        raise NotUnderstood(
            f"{path.name} is no list of boxes like {{sort, label, x, y, width, height}} "
            f"in fractions of the trim: {wrong}."
        ) from wrong


def _finite(told: Any) -> float:
    # Any: whatever the JSON holds there
    value = float(told)
    if not math.isfinite(value):
        raise ValueError(f"{value} is no length")
    return value


def _as_json(
    findings: list[Finding], seen: dict[str, Any], tried: Trial
) -> dict[str, Any]:
    return {
        "level": worst([found.level for found in findings]),
        "laid": tried.declared,
        "error_bar_mm": round(tried.placed.error_bar_mm, 3),
        "press": seen["profile"],
        "checks": [found.as_dict() for found in findings],
        "measures": seen,
    }


def _as_asked(found: Finding) -> Finding:
    """There is no book here: its settings are those of the command line."""
    return replace(found, source=Source.ASKED) if found.source == Source.BOOK else found


def _in_words(found: Finding) -> str:
    lines = [f"{found.level.upper():9} {found.check}: {found.says}"]
    if found.limit:
        lines.append(f"          Limit: {found.limit} ({found.source}).")
    lines += [
        "          at x {x:.3f} y {y:.3f} width {width:.3f} height {height:.3f}".format(
            **place
        )
        for place in found.places[:4]
    ]
    return "\n".join(lines)
