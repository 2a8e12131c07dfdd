"""Keeping who looked at what."""

from accounts.models import Person
from board.books.models import Item
from board.books.queries import text_number_of
from board.daybook.actions import this_moment
from board.revisions.models import Revision
from board.viewing.models import Looked


def remember_look(person: Person, item: Item, shown: Revision | None) -> None:
    """Keep that the person has this picture and these words before them."""
    Looked.objects.get_or_create(
        person=person,
        item=item,
        revision=shown,
        text_version=text_number_of(item),
        defaults={"at": this_moment()},
    )
