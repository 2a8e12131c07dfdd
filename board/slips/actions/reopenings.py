"""An OK is taken off on purpose (T13): asked by one, agreed by the other."""

from django.db import transaction

from accounts.models import Person
from board.books.models import Item, ItemStage
from board.books.queries import roles_of
from board.books.rules import Standing
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, WrongMove
from board.permits import Act, Facet, Role
from board.slips.actions.falling import late_open
from board.slips.actions.locked import Locked, lock, put
from board.slips.actions.neighbours import flag_neighbours
from board.slips.actions.stages import row_of
from board.slips.models import Reopening


@transaction.atomic
def ask_reopening(
    *, by: Person, item: Item, stage: str, draft: dict[str, str], event: str
) -> Reopening:
    """Ask to take an OK off (T13); the other of art director and editor agrees.

    `draft` holds code, reason and payer. A publisher, or one person who is both,
    needs nobody else.
    """
    locked = lock(item, by=by, event=event)
    asked = Reopening.objects.filter(item=item, agreed_at=None, dropped_at=None).first()
    if asked and happened_already(locked.book.key, locked.event):
        return asked
    locked.require(Act.REOPEN)
    row = row_of(locked, stage)
    if row.standing not in {Standing.OK, Standing.OK_AS_CORRECTED}:
        raise WrongMove(f"{stage.capitalize()} is {row.standing}: nothing to reopen.")
    if asked:
        raise WrongMove("A reopening is asked already; agree to that one or drop it.")
    made = Reopening(
        item=item,
        stage=stage,
        code=draft.get("code", ""),
        reason=draft.get("reason", "").strip(),
        payer=draft.get("payer", "").strip(),
        asked_by=by,
        asked_at=locked.now,
    )
    if made.code not in Reopening.Code.values or not made.reason or not made.payer:
        raise NotUnderstood(
            "A reopening names whose alteration it is, why, and who pays."
        )
    made.save()
    details = {"code": made.code, "reason": made.reason, "payer": made.payer}
    locked.enter(
        Happened.REOPENING_ASKED,
        locked.page(stage, about_key=made.key, details=details),
    )
    if _alone(locked.roles):
        _reopen(locked, row, made)
    return made


def _alone(roles: frozenset[Role]) -> bool:
    return Role.PUBLISHER in roles or {Role.EDITOR, Role.ART_DIRECTOR} <= roles


@transaction.atomic
def agree_reopening(*, by: Person, reopening: Reopening, event: str) -> Reopening:
    """Agree to a reopening that the other of art director and editor asked."""
    locked = lock(reopening.item, by=by, event=event)
    made = Reopening.objects.select_for_update().get(pk=reopening.pk)
    if made.agreed_at or happened_already(locked.book.key, locked.event):
        return made
    locked.require(Act.REOPEN)
    asker = roles_of(made.asked_by, locked.book)
    if made.dropped_at or not _alone(asker | locked.roles):
        raise WrongMove("The art director and the editor agree to a reopening.")
    _reopen(locked, row_of(locked, made.stage), made)
    return made


def _reopen(locked: Locked, row: ItemStage, made: Reopening) -> None:
    """Take the OK off; later stages shut and their initials lapse with it."""
    if row.standing not in {Standing.OK, Standing.OK_AS_CORRECTED}:
        raise WrongMove(f"{row.stage.capitalize()} is {row.standing} by now.")
    made.agreed_by, made.agreed_at = locked.by, locked.now
    made.save()
    because = f"reopened: {made.reason}"
    for later in locked.item.stages.all():
        if later.order > row.order and later.standing != Standing.SHUT:
            locked.lapse(Facet, because, stage=later.stage)
            put(locked, later, Standing.SHUT)
    locked.lapse(Facet, because, stage=row.stage)
    put(locked, row, Standing.AT_THE_TABLE)
    locked.row = row
    details = {"code": made.code, "reason": made.reason, "payer": made.payer}
    locked.enter(Happened.REOPENED, locked.page(about_key=made.key, details=details))
    late_open(locked)
    flag_neighbours(locked)
