"""A hold stops initials and OK, and nothing else; who held lets go (T15)."""

from django.db import transaction

from accounts.models import Person
from board.books.models import Item
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import MAY, Act, Role
from board.slips.actions.locked import lock
from board.slips.models import Hold
from board.slips.rules.moves import Move, after

FIRST = (Role.RIGHTS, Role.ART_DIRECTOR, Role.EDITOR)


@transaction.atomic
def hold(*, by: Person, item: Item, reason: str, event: str, role: str = "") -> Hold:
    """Hold an item, with a reason that everybody reads."""
    locked = lock(item, by=by, event=event)
    sent = happened_already(locked.book.key, locked.event)
    if sent:
        return Hold.objects.get(key=sent.about_key)
    locked.require(Act.HOLD)
    if after(locked.standing, Move.HOLD) is None:
        raise WrongMove("The item is handed over; only a recall opens it again.")
    if not reason.strip():
        raise NotUnderstood("Say why it is held; everybody reads the reason.")
    held_as = _role(locked.roles, role)
    if Hold.objects.filter(item=item, role=held_as, released_at=None).exists():
        raise WrongMove(f"It is held by {held_as.value} already.")
    made = Hold.objects.create(
        item=item, role=held_as, by=by, reason=reason.strip(), at=locked.now
    )
    locked.role = held_as.value
    locked.enter(
        Happened.HELD,
        locked.page(about_key=made.key, details={"reason": made.reason}),
    )
    return made


def _role(roles: frozenset[Role], wished: str) -> Role:
    may_hold = [role for role in FIRST if role in roles]
    chosen = [role for role in may_hold if not wished or role.value == wished]
    if not chosen:
        raise NotPermitted("Editor, art director and rights hold an item.")
    return chosen[0]


@transaction.atomic
def release(*, by: Person, held: Hold, event: str) -> Hold:
    """Let go of a hold; the publisher may release any but rights'."""
    locked = lock(held.item, by=by, event=event)
    held = Hold.objects.select_for_update().get(pk=held.pk)
    if held.released_at or happened_already(locked.book.key, locked.event):
        return held
    locked.require(Act.HOLD)
    if not may_release(locked.roles, Role(held.role)):
        raise NotPermitted(
            f"It is held by {held.role}, who alone lets go of it (the publisher may "
            "release any but rights')."
        )
    held.released_at, held.released_by = locked.now, by
    held.save()
    locked.enter(Happened.RELEASED, locked.page(about_key=held.key))
    locked.settle()
    return held


def may_release(roles: frozenset[Role], held_as: Role) -> bool:
    """Whether somebody with these roles lets go of a hold of that role."""
    if held_as in roles and held_as in MAY[Act.HOLD]:
        return True
    return Role.PUBLISHER in roles and held_as is not Role.RIGHTS
