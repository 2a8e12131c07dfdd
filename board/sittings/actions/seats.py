"""Sitting down, being there, getting up."""

from collections.abc import Collection

from django.db import transaction

from accounts.models import Person
from board.books.queries import roles_of
from board.daybook.actions import this_moment
from board.permits import Act, may, require
from board.sittings.actions.telling import tell
from board.sittings.models import Seat, Sitting
from board.sittings.rules import Standing
from board.slips.queries.news import roles_on


@transaction.atomic
def take_seat(*, by: Person, sitting: Sitting, follows: bool | None = None) -> None:
    """Be there: sit down, sit on, and say whether the chair is followed."""
    require(Act.SIT_IN, roles_of(by, sitting.book))
    if sitting.standing is not Standing.OPEN:
        return
    now = this_moment()
    seat, new = Seat.objects.get_or_create(
        sitting=sitting, person=by, defaults={"came_at": now, "seen_at": now}
    )
    other = new or seat.left_at is not None or follows not in {None, seat.follows}
    seat.seen_at, seat.left_at = now, None
    seat.follows = seat.follows if follows is None else follows
    seat.save()
    if other:
        tell(sitting, {"type": "seats"})


@transaction.atomic
def sit_on(*, sitting: Sitting, people: Collection[int]) -> frozenset[int]:
    """Keep the seats of people whose pages are open; gives those who may sit in."""
    sitting = Sitting.objects.select_related("book").get(pk=sitting.pk)
    roles = roles_on(sitting.book)
    here = frozenset(pk for pk in people if may(Act.SIT_IN, roles.get(pk, frozenset())))
    if sitting.standing is Standing.OPEN:
        seats = Seat.objects.filter(sitting=sitting, person__in=here)
        back = seats.exclude(left_at=None).exists()
        seats.update(seen_at=this_moment(), left_at=None)
        if back:
            tell(sitting, {"type": "seats"})
    return here


def leave_seat(*, by: Person, sitting: Sitting) -> None:
    """Get up; who comes back sits in the same seat."""
    now = this_moment()
    seats = Seat.objects.filter(sitting=sitting, person=by, left_at=None)
    if seats.update(left_at=now, seen_at=now):
        tell(sitting, {"type": "seats"})
