"""What the scripts of a page are told, as plain values."""

from collections.abc import Iterable
from typing import Any

from board.books.models import Box, Item, ItemText
from board.checks.queries import Checked


def boxes_told(boxes: Iterable[Box]) -> list[dict[str, Any]]:
    """Type and focal boxes as the scripts read them."""
    return [
        {
            "sort": box.sort,
            "label": box.label or box.get_sort_display(),
            "x": box.x,
            "y": box.y,
            "width": box.width,
            "height": box.height,
        }
        for box in boxes
    ]


def places_told(checked: Checked | None) -> list[dict[str, Any]]:
    """The places that checks point at, each named by its check and what it says."""
    return [
        {"sort": "check", "label": f"{found.check}: {found.level.value}", **place}
        for found in (checked.findings if checked else ())
        for place in found.places
    ]


def type_told(item: Item, text: ItemText | None) -> dict[str, Any]:
    """The item's words and how the book sets them."""
    book = item.book
    return {
        "words": text.words if text else "",
        "face": book.type_face,
        "sizePt": book.type_pt,
        "leadingPt": book.leading_pt,
    }
