"""What follows when the machine checks of a picture are over."""

from django.db import transaction

from board.books.models import Item
from board.books.rules import Stage
from board.revisions.queries import current
from board.slips.actions.locked import lock_for_the_board


@transaction.atomic
def settle_checked(item: Item) -> None:
    """Let an OK follow that waited for nothing but the checks."""
    picture = current(item, Stage.FINAL)
    if picture is None:
        return
    locked = lock_for_the_board(item, because_of=picture.by)
    if locked.row is not None and locked.stage is Stage.FINAL:
        locked.settle()
