"""Telling the open pages of a sitting what is not in the record: looks and seats."""

import json
from typing import Any

from asgiref.sync import async_to_sync
from channels.layers import get_channel_layer
from django.db import transaction

from board.sittings.models import Sitting


def as_told(book_key: str, sitting_key: str, told: dict[str, Any]) -> dict[str, Any]:
    """A message for every line of a sitting, written out once for all of them."""
    return {
        "type": "sitting.told",
        "book": book_key,
        "sitting": sitting_key,
        "kind": str(told["type"]),
        "text": written(told),
    }


def written(told: dict[str, Any]) -> str:
    """A message as it goes over the line."""
    return json.dumps(told, separators=(",", ":"))


def tell(sitting: Sitting, told: dict[str, Any]) -> None:
    """Tell every open page of the sitting once the transaction is safe."""
    book_key = sitting.book.key
    message = as_told(book_key, sitting.key, told)
    transaction.on_commit(lambda: _send(f"book-{book_key}", message))


def tell_look(sitting: Sitting) -> None:
    """Tell what lies before everybody now."""
    tell(sitting, look_told(sitting))


def look_told(sitting: Sitting) -> dict[str, Any]:
    """The chair's look as pages take it; a lower number is older news."""
    return {
        "type": "look",
        "number": sitting.looks,
        "item": sitting.now_item.key if sitting.now_item else "",
        "look": sitting.look,
        "reading": bool(sitting.reading),
    }


def _send(group: str, message: dict[str, Any]) -> None:
    layer = get_channel_layer()
    if layer is not None:
        async_to_sync(layer.group_send)(group, message)
