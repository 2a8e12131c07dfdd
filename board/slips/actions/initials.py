"""Initials: given on what was really shown, pulled by their giver, refused in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from accounts.models import Person
from board.books.actions import writer
from board.books.models import Item
from board.books.queries.deputies import principal_for
from board.books.rules import Standing
from board.clippings.queries import list_digest, source_list
from board.daybook.actions import know
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import Act, Facet, acting_roles, facets_of, require
from board.slips.actions.falling import late_open
from board.slips.actions.locked import Locked, end_initial, event_of, lock
from board.slips.models import Initial, Refusal
from board.slips.queries.receipts import Receipt, read_receipt
from board.slips.rules.guards import why_not_initial, why_not_list, why_not_refuse
from board.slips.rules.moves import Move, after
from board.slips.rules.slate import Slate
from board.slips.rules.stations import Asked
from board.tissue.models import Note

Kind = Initial.Kind


@dataclass(frozen=True)
class Lines:
    """What an OK as corrected rests on: keys of directions, checks at stop in words."""

    notes: Sequence[str] = ()
    checks: Sequence[str] = ()

    def __bool__(self) -> bool:
        return bool(self.notes or self.checks)


def initial(  # noqa: PLR0913 - what was shown, and what it rests on
    *,
    by: Person,
    item: Item,
    facet: str,
    receipt: str,
    event: str,
    listed: Sequence[str] = (),
    checks: Sequence[str] = (),
) -> Initial:
    """Give an OK, or with listed lines an OK as corrected (T6, T7).

    Production may list `checks` that stand at stop. What cannot be applied is kept on record with every reason, and refused.
    """
    try:
        with transaction.atomic():
            lines = Lines(listed, checks)
            return _initial(by, item, facet, receipt, event, lines)
    except WrongMove as stopped:
        _keep_on_record(by, item, facet, event, stopped)
        raise


def _initial(
    by: Person,
    item: Item,
    facet: str,
    receipt: str,
    event: str,
    listed: Lines,
) -> Initial:
    sent = Initial.objects.filter(person=by, event=event_of(by, event), facet=facet)
    locked = lock(item, by=by, event=event)
    before = sent.first()
    if before is not None:
        return before
    shown = read_receipt(receipt, person=by, item=item)
    act = Act.INITIAL_AS_CORRECTED if listed else Act.INITIAL
    principal = _signs_for(locked, facet, act)
    slate = locked.slate()
    _stop(locked, slate, Facet(facet), shown, listed, principal)
    given = _write(locked, slate, facet, receipt, listed, principal)
    if principal:
        know(writer(principal))
    page = locked.page(
        about_key=given.key,
        checksum=given.bound_sha256,
        text_version=given.text_version,
        details={
            "facet": facet,
            "kind": given.kind,
            "listed": [*listed.notes, *listed.checks],
            **({"for": principal.key} if principal else {}),
        },
    )
    locked.enter(Happened.INITIALLED, page)
    locked.settle()
    return given


def _signs_for(locked: Locked, facet: str, act: Act) -> Person | None:
    """For whom the initial is given: nobody else, or the principal of a deputy."""
    own = facets_of(locked.roles, studio=locked.book.is_studio)
    if facet in list(Facet) and Facet(facet) not in own:
        lent = principal_for(locked.by, locked.book, Facet(facet))
        if lent is not None:
            require(act, acting_roles([lent.role], studio=locked.book.is_studio))
            return lent.principal
    _require(locked, facet, act)
    return None


def _require(locked: Locked, facet: str, act: Act) -> None:
    if facet not in list(Facet):
        raise NotUnderstood(
            "An initial is for art, story, words, fit, clearance, press."
        )
    locked.require(act)
    if Facet(facet) not in facets_of(locked.roles, studio=locked.book.is_studio):
        raise NotPermitted(
            f"The {facet} line is not yours. Nobody initials another's facet, and "
            "nobody credited as illustrator initials art."
        )


def _stop(
    locked: Locked,
    slate: Slate,
    facet: Facet,
    shown: Receipt,
    listed: Lines,
    principal: Person | None,
) -> None:
    whose = {locked.by.key, principal.key} if principal else {locked.by.key}
    reasons = why_not_initial(
        slate,
        facet,
        whose=whose,
        seen=(shown.checksum, shown.text_version),
        except_for=listed.notes,
    )
    if listed:
        reasons += why_not_list(
            slate, facet, whose=whose, listed=listed.notes, checks=listed.checks
        )
    locked.stop_for(reasons)
    if facet in slate.live:
        raise WrongMove(f"The {facet.value} line is initialled already.")


def _write(
    locked: Locked,
    slate: Slate,
    facet: str,
    receipt: str,
    listed: Lines,
    principal: Person | None,
) -> Initial:
    line = slate.line_for(Facet(facet))
    locked.role = line.station.value if line else ""
    given = Initial.objects.create(
        slip=locked.slip(),
        facet=facet,
        role=locked.role,
        person=locked.by,
        principal=principal,
        kind=Kind.AS_CORRECTED if listed else Kind.OK,
        seen_sha256=slate.checksum,
        bound_sha256=slate.checksum,
        text_version=slate.text_version,
        receipt=receipt,
        sources=sources_seen(locked.item) if facet == Facet.CLEARANCE else "",
        listed_checks=list(listed.checks),
        event=locked.event,
        at=locked.now,
    )
    if listed:
        notes = Note.objects.filter(item=locked.item, key__in=listed.notes)
        given.listed.set(notes)
        notes.update(listed_by=locked.by)
    return given


def sources_seen(item: Item) -> str:
    """Name the item's source list, to which an initial for clearance is bound."""
    return list_digest(source_list(item))


@transaction.atomic
def _keep_on_record(
    by: Person, item: Item, facet: str, event: str, stopped: WrongMove
) -> None:
    """A late arrival is never applied, and never lost either."""
    locked = lock(item, by=by, event=event)
    if happened_already(locked.book.key, locked.event):
        return
    details = {"facet": facet, "reasons": list(stopped.reasons)}
    locked.enter(Happened.NOT_APPLIED, locked.page(details=details))


@transaction.atomic
def refuse(
    *, by: Person, item: Item, facet: str, note: Note, reason: str, event: str
) -> Refusal:
    """Say no at a must line, over an own open direction (T8)."""
    locked = lock(item, by=by, event=event)
    sent = Refusal.objects.filter(person=by, event=event_of(by, event)).first()
    if sent is not None:
        return sent
    _require(locked, facet, Act.REFUSE)
    locked.stop_for(why_not_refuse(locked.slate(), Facet(facet), person=by.key))
    if note.by_id != by.pk or note.item_id != item.pk:
        raise NotUnderstood("A refusal names an open direction of your own here.")
    mine = Initial.objects.filter(
        slip=locked.slip(), facet=facet, ended_at=None, person=by
    ).first()
    if mine:
        end_initial(locked, mine, "refused by its giver")
    made = Refusal.objects.create(
        slip=locked.slip(),
        facet=facet,
        person=by,
        note=note,
        reason=reason.strip(),
        event=locked.event,
        at=locked.now,
    )
    page = locked.page(about_key=note.key, details={"facet": facet})
    locked.enter(Happened.REFUSED, page)
    return made


@transaction.atomic
def pull(*, by: Person, given: Initial, reason: str, event: str) -> Initial:
    """Take one's own initial back, with a reason (T12)."""
    locked = lock(given.slip.item, by=by, event=event)
    given = Initial.objects.select_for_update().get(pk=given.pk)
    if given.ended_at or happened_already(locked.book.key, locked.event):
        return given
    if by.pk not in {given.person_id, given.principal_id}:
        raise NotPermitted(
            "Only its giver pulls an initial, or whom a deputy gave it for."
        )
    if given.slip.stage != locked.stage or locked.standing is Standing.HANDED_OVER:
        raise WrongMove("That stage is history; ask to reopen it instead.")
    if not reason.strip():
        raise NotUnderstood("Say why you take the initial back.")
    line = locked.slate().line_for(Facet(given.facet))
    counted = given.listed.exists() or (line and line.asked is Asked.MUST)
    end_initial(locked, given, f"pulled: {reason.strip()}")
    page = locked.page(about_key=given.key, details={"facet": given.facet})
    locked.enter(Happened.INITIAL_PULLED, page)
    if counted and after(locked.standing, Move.LOSE_A_LINE):
        locked.move(Move.LOSE_A_LINE)
        late_open(locked)
    locked.settle()
    return given
