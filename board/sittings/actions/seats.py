"""Sitting down, being there, getting up."""

from django.db import transaction

from accounts.models import Person
from board.books.queries import roles_of
from board.daybook.actions import this_moment
from board.permits import Act, require
from board.sittings.actions.telling import tell
from board.sittings.models import Seat, Sitting
from board.sittings.rules import Standing


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


def leave_seat(*, by: Person, sitting: Sitting) -> None:
    """Get up; who comes back sits in the same seat."""
    now = this_moment()
    seats = Seat.objects.filter(sitting=sitting, person=by, left_at=None)
    if seats.update(left_at=now, seen_at=now):
        tell(sitting, {"type": "seats"})
