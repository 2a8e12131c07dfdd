"""Marks that show an item's picture on pages of rooms below the revisions."""

from django import template

from accounts.models import Person
from board.books.models import Item
from board.books.queries import latest_open
from board.revisions.queries import Picture, current, picture_of

register = template.Library()


@register.simple_tag
def current_picture(item: Item, person: Person) -> Picture | None:
    """The item's newest picture that is up, addressed to this person alone."""
    rows = list(item.stages.all())
    newest = latest_open(rows)
    order = newest.order if newest else -1
    for row in sorted(rows, key=lambda row: -row.order):
        up = current(item, row.stage) if row.order <= order else None
        if up is not None:
            return picture_of(up, person)
    return None
