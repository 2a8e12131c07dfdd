"""Telling open pages that something was entered in the daybook."""

from asgiref.sync import async_to_sync
from channels.layers import get_channel_layer

from board.daybook.models import Entry

TOLD = (
    "book_key",
    "number",
    "kind",
    "by_key",
    "role",
    "item_key",
    "stage",
    "about_key",
    "details",
)


def announce(entry: Entry) -> None:
    """Tell the book's open pages; each line asks what its reader may know."""
    layer = get_channel_layer()
    if layer is None:
        return
    told = {name: getattr(entry, name) for name in TOLD}
    message = {"type": "entered", "entry": told}
    async_to_sync(layer.group_send)(f"book-{entry.book_key}", message)
