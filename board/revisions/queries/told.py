"""Pictures and sheets as the scripts of a page read them."""

from dataclasses import asdict
from typing import Any

from accounts.models import Person
from board.books.models import Item
from board.revisions.models import Revision
from board.revisions.queries import picture_of


def told_picture(revision: Revision | None, person: Person) -> dict[str, Any] | None:
    """A laid picture as the scripts read it, or nothing while it is not laid."""
    picture = picture_of(revision, person) if revision else None
    return asdict(picture) if picture else None


def format_of(item: Item) -> dict[str, Any]:
    """The sheet's sizes as the scripts read them."""
    book = item.book
    return {
        "widthMm": item.width_mm,
        "heightMm": item.height_mm,
        "bleedMm": book.bleed_mm,
        "safeMm": book.safe_mm,
        "gutterMm": book.gutter_mm,
        "double": item.is_double,
    }
