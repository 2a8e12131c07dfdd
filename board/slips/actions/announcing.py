"""Ringing at the open lines of a book, and shutting those of who signs out."""

from typing import Any

from asgiref.sync import async_to_sync
from channels.layers import get_channel_layer
from django.http import HttpRequest

from accounts.models import Person
from accounts.rules import named
from board.daybook.models import Entry

EVERYBODY = "everybody"  # the group in which every hub listens


def announce(entry: Entry) -> None:
    """Ring once; who listens reads the record itself, so a lost ring loses nothing."""
    rung = {"type": "entered", "book": entry.book_key, "number": entry.number}
    _send(f"book-{entry.book_key}", rung)


def hang_up(*, request: HttpRequest, user: Person | None, **_signal: Any) -> None:
    """Shut the lines of the session that is signing out, and of no other."""
    if user is None:
        return
    session = named(request.session.session_key)
    _send(EVERYBODY, {"type": "signed.out", "person": user.key, "session": session})


def _send(group: str, message: dict[str, Any]) -> None:
    layer = get_channel_layer()
    if layer is not None:
        async_to_sync(layer.group_send)(group, message)
