"""A deputy and a flag, made when the door that needs them is tried."""

from datetime import timedelta

from board.books.actions.deputies import DeputyDraft, name_deputy
from board.books.models import Deputy
from board.books.queries.deputies import today
from board.permits import Role
from board.slips.models import LookAgain
from tests import make
from tests.house.world import World


def deputy(world: World) -> Deputy:
    """The editor signs p.p. the designer for a week."""
    draft = DeputyDraft(
        role=Role.DESIGNER,
        principal=world.cast.designer,
        person=world.cast.editor,
        first_day=today(),
        last_day=today() + timedelta(days=7),
    )
    return name_deputy(
        by=world.cast.designer, book=world.book, draft=draft, event=make.event()
    )


def flag(world: World) -> LookAgain:
    """8-9 is to be looked at again, since 10-11 was reopened."""
    return LookAgain.objects.create(
        item=world.item, beside=world.other, why="coat", at=make.NOW
    )
