"""Holding a sitting: open, turn to an item, look, hand over the chair, decide, close."""

from datetime import datetime
from typing import Any

from django.db import transaction

from accounts.models import Person
from board.books.models import Item
from board.books.queries import newest_texts, roles_of
from board.daybook.actions import enter, this_moment
from board.daybook.rules import Happened
from board.errors import NotFound, NotPermitted, NotUnderstood, WrongMove
from board.permits import Act, may, require
from board.revisions.queries import currents
from board.sittings.actions import (
    locked_sitting,
    page_of,
    require_chair,
    written_by,
)
from board.sittings.actions.letters import mail_absentees
from board.sittings.actions.telling import tell_look
from board.sittings.models import Decision, Sitting, Turn
from board.sittings.rules import Look, Standing, Word, kept_look, read_look
from board.slips.actions.locked import event_of

NOT_OPEN = "This sitting is not open now. Load the page again."


@transaction.atomic
def open_sitting(*, by: Person, sitting: Sitting, event: str) -> Sitting:
    """Open it: every item's revision is frozen as it is now."""
    sitting = locked_sitting(sitting)
    if by.pk != sitting.chair_id:
        require(Act.PLAN_SITTING, roles_of(by, sitting.book))
    if sitting.standing is Standing.OPEN:
        return sitting
    if sitting.standing is not Standing.PLANNED:
        raise WrongMove(f"This sitting is {sitting.standing}; plan another one.")
    if Sitting.objects.filter(
        book=sitting.book, opened_at__isnull=False, closed_at=None
    ).exists():
        raise WrongMove("Another sitting on this book is open. Close it first.")
    _freeze(sitting)
    sitting.opened_at = this_moment()
    sitting.look = Look().as_dict()
    first = sitting.items.select_related("item").exclude(revision=None).first()
    sitting.save()
    sent = event_of(by, event)
    enter(Happened.SITTING_OPENED, page_of(sitting), by=written_by(by), event=sent)
    if first is not None:
        _turn(sitting, first.item, sitting.opened_at)
    return sitting


def _freeze(sitting: Sitting) -> None:
    up, texts = currents(sitting.book), newest_texts(sitting.book)
    for row in sitting.items.select_related("item"):
        text = texts.get(row.item.key)
        row.revision = up.get(row.item_id)
        row.text_version = text.text.number if text else 0
        row.save()


@transaction.atomic
def turn_to(*, by: Person, sitting: Sitting, item_key: str) -> Sitting:
    """Lay another item before everybody."""
    sitting = chaired(sitting, by)
    listed = sitting.items.select_related("item").filter(item__key=item_key).first()
    if listed is None:
        raise NotFound("That item is not on this sitting's list.")
    if sitting.now_item_id != listed.item_id:
        _turn(sitting, listed.item, this_moment())
        tell_look(sitting)
    return sitting


def _turn(sitting: Sitting, item: Item, now: datetime) -> None:
    end_turn(sitting, now)
    Turn.objects.create(sitting=sitting, item=item, began_at=now)
    page = kept_look(sitting.look).page
    sitting.now_item, sitting.look = item, Look(page=page).as_dict()
    sitting.looks += 1
    sitting.save()


def end_turn(sitting: Sitting, now: datetime) -> None:
    """Stop the clock of the item that lies before everybody."""
    sitting.turns.filter(ended_at=None).update(ended_at=now)


@transaction.atomic
def look_at(*, by: Person, sitting: Sitting, told: dict[str, Any]) -> Sitting:
    """Keep what the chair looks at and show it to everybody who follows."""
    sitting = chaired(sitting, by)
    look = read_look(told, kept_look(sitting.look)).as_dict()
    if look != sitting.look:
        sitting.look = look
        sitting.looks += 1
        sitting.save(update_fields=["look", "looks"])
        tell_look(sitting)
    return sitting


def chaired(sitting: Sitting, by: Person) -> Sitting:
    """The sitting, locked, for an act that is the chair's alone."""
    sitting = locked_sitting(sitting)
    require(Act.CHAIR_SITTING, roles_of(by, sitting.book))
    if sitting.standing is not Standing.OPEN:
        raise WrongMove(NOT_OPEN)
    if by.pk != sitting.chair_id:
        raise NotPermitted(f"{sitting.chair.name} has the chair now.")
    return sitting


@transaction.atomic
def hand_chair(*, by: Person, sitting: Sitting, to: Person, event: str) -> Sitting:
    """Hand over the chair; who may plan a sitting may also take it."""
    sitting = locked_sitting(sitting)
    if sitting.standing is not Standing.OPEN:
        raise WrongMove(NOT_OPEN)
    if by.pk != sitting.chair_id:
        require(Act.PLAN_SITTING, roles_of(by, sitting.book))
    require_chair(to, sitting.book)
    if sitting.reading:
        raise WrongMove("The book is being read. Shut it, then hand over the chair.")
    if sitting.chair_id == to.pk:
        return sitting
    sitting.chair = to
    sitting.save(update_fields=["chair"])
    sent = event_of(by, event)
    page = page_of(sitting, f"to {to.initials}", to=to.key)
    enter(Happened.CHAIR_HANDED, page, by=written_by(by), event=sent)
    return sitting


@transaction.atomic
def decide(
    *, by: Person, sitting: Sitting, line: dict[str, str], ruled_by: Person, event: str
) -> Decision:
    """Write the decision line of an item: `word`, `remark` and `item` of the line.

    Everybody of the house writes their own; the chair also writes down what somebody
    else of the house ruled. It is no initial.
    """
    sitting, sent = locked_sitting(sitting), event_of(by, event)
    before = Decision.objects.filter(event=sent).first()
    if before:
        return before
    if sitting.standing is not Standing.OPEN:
        raise WrongMove(NOT_OPEN)
    require(Act.DECIDE, roles_of(by, sitting.book))
    if not may(Act.DECIDE, roles_of(ruled_by, sitting.book)):
        raise NotPermitted("Somebody of the house rules in a sitting. Name another.")
    if by.pk not in {ruled_by.pk, sitting.chair_id}:
        raise NotPermitted("Only the chair writes down what somebody else ruled.")
    listed = sitting.items.select_related("item").filter(item__key=line.get("item", ""))
    row = listed.first()
    if row is None:
        raise NotFound("That item is not on this sitting's list.")
    if line.get("word") not in set(Word):
        raise NotUnderstood("Choose what was decided.")
    made = Decision.objects.create(
        sitting=sitting,
        item=row.item,
        word=line["word"],
        ruled_by=ruled_by,
        written_by=by,
        remark=line.get("remark", "").strip()[:2000],
        at=this_moment(),
        event=sent,
    )
    told = f"{made.word}, ruled by {ruled_by.initials}"
    page = page_of(
        sitting,
        told,
        row.item,
        decision=made.key,
        word=made.word,
        ruled_by=ruled_by.initials,
        remark=made.remark,
    )
    enter(Happened.DECIDED, page, by=written_by(by), event=sent)
    return made


@transaction.atomic
def close_sitting(*, by: Person, sitting: Sitting, event: str) -> Sitting:
    """Close it; from here on the minutes stand, and absentees get their letter."""
    sitting = locked_sitting(sitting)
    if sitting.standing is Standing.CLOSED:
        return sitting
    if sitting.standing is not Standing.OPEN:
        raise WrongMove(NOT_OPEN)
    if by.pk != sitting.chair_id:
        require(Act.PLAN_SITTING, roles_of(by, sitting.book))
    now = this_moment()
    end_turn(sitting, now)
    sitting.closed_at, sitting.reading = now, {}
    sitting.save()
    sitting.seats.filter(left_at=None).update(left_at=now)
    sent = event_of(by, event)
    enter(Happened.SITTING_CLOSED, page_of(sitting), by=written_by(by), event=sent)
    mail_absentees(sitting)
    return sitting
