"""What lies beside a reopened item is flagged: look again. A flag takes nothing off."""

from django.db import transaction

from accounts.models import Person
from board.books.models import Item
from board.books.queries import items_of_book
from board.continuity.queries import linked_with
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.permits import Act
from board.slips.actions.locked import Locked, lock
from board.slips.models import LookAgain


def flag_neighbours(locked: Locked) -> None:
    """Flag the items before and after, and those that share a followed thing."""
    items = list(items_of_book(locked.book))
    places = {item.pk: place for place, item in enumerate(items)}
    here = places.get(locked.item.pk)
    if here is None:
        return
    beside = {item.pk for item in items[max(here - 1, 0) : here + 2]}
    linked = linked_with(locked.item)
    for item in items:
        if item.pk == locked.item.pk or item.pk not in beside | set(linked):
            continue
        things = ", ".join(linked.get(item.pk, ()))
        _flag(locked, item, things or "it lies beside")


def _flag(locked: Locked, item: Item, why: str) -> None:
    flag, new = LookAgain.objects.get_or_create(
        item=item,
        beside=locked.item,
        looked_at=None,
        defaults={"why": why[:200], "at": locked.now},
    )
    if new:
        details = {"words": f"{item.label}, since {locked.item.label} was reopened"}
        page = locked.page(about_key=flag.key, details=details)
        locked.follows(Happened.LOOK_AGAIN, page)


@transaction.atomic
def look_again_done(*, by: Person, flag: LookAgain, event: str) -> LookAgain:
    """Say that one looked: nothing beside needs to change."""
    locked = lock(flag.item, by=by, event=event)
    flag = LookAgain.objects.select_for_update().get(pk=flag.pk)
    if flag.looked_at or happened_already(locked.book.key, locked.event):
        return flag
    locked.require(Act.KEEP_CONTINUITY)
    flag.looked_at, flag.looked_by = locked.now, by
    flag.save()
    locked.enter(Happened.LOOKED_AGAIN, locked.page(about_key=flag.key))
    return flag
