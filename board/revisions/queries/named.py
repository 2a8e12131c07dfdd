"""A revision of an item that was asked for already."""

from accounts.models import Person
from board.books.models import Item
from board.errors import NotFound
from board.revisions.models import Revision
from board.revisions.queries import require_seen


def revision_of(person: Person, item: Item, key: str) -> Revision:
    """The item's revision, under the same rules; the caller asked for the item."""
    rows = Revision.objects.select_related("laid_on").filter(item=item, key=key)
    revision = rows.order_by("pk").first()
    if revision is None:
        raise NotFound
    revision.item = item
    if not revision.is_up:  # what is up is seen by everybody on the book
        require_seen(revision, person)
    return revision
