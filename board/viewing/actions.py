"""Telling open pages what was entered or who left; keeping who looked at what."""

from typing import Any

from asgiref.sync import async_to_sync
from channels.layers import get_channel_layer
from django.http import HttpRequest

from accounts.models import Person
from board.books.models import Item
from board.books.queries import text_number_of
from board.daybook.actions import this_moment
from board.daybook.models import Entry
from board.revisions.models import Revision
from board.viewing.models import Looked
from board.viewing.rules import named

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


def hang_up(*, request: HttpRequest, user: Person | None, **_signal: Any) -> None:
    """Shut the lines of the session that is signing out, and of no other."""
    layer = get_channel_layer()
    if layer is None or user is None:
        return
    message = {"type": "signed.out", "session": named(request.session.session_key)}
    async_to_sync(layer.group_send)(f"person-{user.key}", message)


def remember_look(person: Person, item: Item, shown: Revision | None) -> None:
    """Keep that the person has this picture and these words before them."""
    Looked.objects.get_or_create(
        person=person,
        item=item,
        revision=shown,
        text_version=text_number_of(item),
        defaults={"at": this_moment()},
    )
