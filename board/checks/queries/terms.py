"""What a revision is held against now, and what is to be measured for it."""

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict
from hashlib import sha256
from typing import Any

from board.books.models import Book, Item
from board.books.rules import Stage
from board.checks.models import PrintingCondition
from board.checks.rules import Source, Terms, skip_mm
from board.repro.pressing import RECIPE, Order
from board.repro.profiles import profile_path
from board.repro.sheets import SheetSize
from board.revisions.models import Revision

SIDES = ("x", "y", "width", "height")
INK_LIMIT = 300.0


def condition_of(book: Book) -> PrintingCondition | None:
    """The printing condition in force, if the house gave one."""
    return PrintingCondition.objects.filter(book=book).order_by("-pk").first()


def boxes_by_item(items: Iterable[Item]) -> dict[int, list[dict[str, Any]]]:
    """Boxes of items as plain values, in one query."""
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for item in items:
        for box in item.boxes.all():
            sides = {side: getattr(box, side) for side in SIDES}
            told = {"key": box.key, "sort": box.sort, "label": box.label}
            found[item.pk].append({**told, **sides})
    return found


def terms_of(revision: Revision, condition: PrintingCondition | None) -> Terms:
    """What this revision is held against now."""
    item, book = revision.item, revision.item.book
    return Terms(
        stage=Stage(revision.stage),
        pages=(item.first_page, item.last_page),
        extent=book.extent,
        sheet_mm=(item.width_mm, item.height_mm),
        bleed_mm=book.bleed_mm,
        gutter_mm=book.gutter_mm,
        ppi_warn=book.ppi_warn,
        ppi_stop=book.ppi_stop,
        double=item.is_double,
        picture=(revision.width, revision.height),
        declared=revision.laid,
        error_bar_mm=revision.error_bar_mm or 0.0,
        mode=revision.mode,
        boxes=boxes_by_item([item])[item.pk],
        **_pressed(condition),
    )


def _pressed(condition: PrintingCondition | None) -> dict[str, Any]:
    if condition is None:
        practice = f"{Source.PRACTICE}: what most printers take"
        return {"ink_limit": INK_LIMIT, "ink_source": practice}
    return {
        "ink_limit": condition.ink_limit,
        "ink_source": condition.ink_source,
        "press": condition.name if condition.profile_sha256 else "",
        "bleed_asked_mm": condition.bleed_mm or 0.0,
        "bleed_source": condition.bleed_source or Source.BOOK,
    }


def recipe_of(
    revision: Revision, terms: Terms, condition: PrintingCondition | None
) -> str:
    """What a run is kept under: how it is made, how the picture lies, and the terms."""
    profile = condition.profile_sha256 if condition else ""
    told = [RECIPE, revision.picture, revision.matrix, profile, asdict(terms)]
    body = json.dumps(told, sort_keys=True, default=str)
    return sha256(body.encode()).hexdigest()


def order_of(terms: Terms, matrix: Any, *, profile: str = "") -> Order:
    """What to measure so that it can be held against the terms."""
    # Any: rows of numbers, from the database or from numpy
    return Order(
        matrix=matrix,
        picture=terms.picture,
        sheet=SheetSize(*terms.sheet_mm, terms.bleed_mm),
        double=terms.double,
        gutter_mm=terms.gutter_mm,
        type_boxes=[box for box in terms.boxes if box["sort"] == "type"],
        skip_mm=skip_mm(terms),
        profile=profile,
        ink_limit=terms.ink_limit,
    )


def profile_of(condition: PrintingCondition | None) -> str:
    """Where the condition's press profile lies, empty without one."""
    if condition is None or not condition.profile_sha256:
        return ""
    return str(profile_path(condition.profile_sha256))


def holds_profile(sha256: str) -> bool:
    """Whether a printing condition's profile is kept as these bytes."""
    return PrintingCondition.objects.filter(profile_sha256=sha256).exists()
