"""Stages open, revisions go up, an OK is taken off on purpose."""

from datetime import date
from hashlib import sha256

from django.db import transaction

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.queries import items_of_book
from board.books.rules import STAGES, Stage, Standing
from board.clippings.queries import list_digest, source_list
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, WrongMove
from board.permits import Act, Facet, Role, may
from board.revisions.actions import number_it
from board.revisions.models import Revision
from board.slips.actions.falling import late_open
from board.slips.actions.locked import Locked, carry, lock, put
from board.slips.models import Initial
from board.slips.rules.guards import why_not_send_up, why_not_stand_by
from board.slips.rules.moves import DONE, Move, lapses
from board.tissue.actions import blank_answer, end
from board.tissue.models import Note
from board.tissue.rules import BLOCKING


@transaction.atomic
def open_stage(
    *, by: Person, item: Item, stage: str, event: str, due: date | None = None
) -> ItemStage:
    """Give the item to the artist for a stage (T1); notes still open move on."""
    locked = lock(item, by=by, event=event, role=Role.ART_DIRECTOR)
    row = row_of(locked, stage)
    if happened_already(locked.book.key, locked.event):
        return row
    locked.require(Act.OPEN_STAGE)
    _stop_opening(locked, row)
    _move_on(locked, Stage(stage))
    row.due = due
    put(locked, row, Standing.AT_THE_TABLE)
    locked.row = row
    locked.enter(Happened.STAGE_OPENED, locked.page(details={"due": str(due or "")}))
    return row


def row_of(locked: Locked, stage: str) -> ItemStage:
    for row in locked.item.stages.all():
        if row.stage == stage:
            return row
    raise NotUnderstood("The stages are thumbnails, sketch, washes and final.")


def _stop_opening(locked: Locked, row: ItemStage) -> None:
    reasons = []
    if row.waived:
        reasons.append(f"{row.stage.capitalize()} is waived here: {row.waived}")
    elif row.standing != Standing.SHUT:
        reasons.append(f"{row.stage.capitalize()} is open already: {row.standing}.")
    for other in locked.item.stages.all():
        if other.order < row.order and not other.waived and other.standing not in DONE:
            reasons.append(
                f"{other.stage.capitalize()} is {other.standing}; it must come OK or "
                "be waived first."
            )
    if reasons:
        raise WrongMove(" ".join(reasons), *reasons)


def _move_on(locked: Locked, stage: Stage) -> None:
    """Open directions and queries go to the new stage, suggestions to the artist."""
    waiting = (Note.State.OPEN, Note.State.LATE, Note.State.WITH_EDITOR)
    for note in Note.objects.filter(item=locked.item, state__in=waiting):
        passed = note.state != Note.State.WITH_EDITOR
        if note.sort == Note.Class.SUGGESTION and passed:
            end(note, Note.State.LEFT, by=None, now=locked.now)
            continue
        note.stage = stage
        if passed:
            note.state, note.waits_for = Note.State.OPEN, ""
        blank_answer(note)
        locked.follows(Happened.MOVED_ON, locked.page(stage, about_key=note.key))


@transaction.atomic
def waive_stage(
    *, by: Person, item: Item, stage: str, reason: str, event: str
) -> ItemStage:
    """Leave a stage out, with a reason, while nothing was sent up in it."""
    locked = lock(item, by=by, event=event, role=Role.ART_DIRECTOR)
    row = row_of(locked, stage)
    if happened_already(locked.book.key, locked.event):
        return row
    locked.require(Act.WAIVE_STAGE)
    if not reason.strip():
        raise NotUnderstood("Say why the stage is left out; the record keeps it.")
    sent = locked.item.revisions.filter(stage=stage, number__isnull=False)
    if sent.exists():
        raise WrongMove(f"A revision was sent up at {stage}, so it cannot be waived.")
    row.waived = reason.strip()
    put(locked, row, Standing.SHUT)
    locked.enter(
        Happened.STAGE_WAIVED, locked.page(stage, details={"reason": row.waived})
    )
    return row


def open_for_all(
    *, by: Person, book: Book, stage: str, event: str, reason: str = ""
) -> int:
    """Open a stage on every item that can take it; returns how many.

    With a reason, earlier stages in which nothing happened yet are waived for it.
    """
    opened = 0
    for item in items_of_book(book):
        own = _own_event(event, item.key)
        if reason:
            _waive_before(by=by, item=item, stage=stage, reason=reason, event=own)
        try:
            open_stage(by=by, item=item, stage=stage, event=own)
            opened += 1
        except WrongMove:
            continue
    return opened


def _own_event(event: str, part: str) -> str:
    """An event id for one part of an act, the same each time the act is sent."""
    return sha256(f"{event} {part}".encode()).hexdigest()[:40]


def _waive_before(
    *, by: Person, item: Item, stage: str, reason: str, event: str
) -> None:
    for earlier in STAGES[: STAGES.index(Stage(stage))]:
        row = item.stages.get(stage=earlier)
        if row.standing == Standing.SHUT and not row.waived:
            own = _own_event(event, earlier)
            waive_stage(by=by, item=item, stage=earlier, reason=reason, event=own)


@transaction.atomic
def send_up(*, by: Person, revision: Revision, event: str) -> Revision:
    """Show a revision to everybody (T2): numbered, current, initials blank."""
    locked = lock(revision.item, by=by, event=event, role=Role.ILLUSTRATOR)
    revision = Revision.objects.select_for_update().get(pk=revision.pk)
    if happened_already(locked.book.key, locked.event):
        return revision
    locked.require(Act.SEND_UP)
    _stop_sending(locked, revision)
    carried = _same_sources(locked, revision)
    because = f"a new revision went up on {locked.now:%-d %B}"
    locked.lapse([facet for facet in Facet if lapses(facet, "new revision")], because)
    locked.close_slip()
    number_it(revision, now=locked.now)
    left = locked.standing
    locked.move(Move.SEND_UP)
    slip = locked.open_slip(revision, left=left)
    for old in carried:
        carry(locked, old, slip, event=f"carried-{revision.key}", justified=old.sources)
    late_open(locked)
    page = locked.page(
        about_key=revision.key,
        checksum=revision.sha256,
        details={"revision": revision.number},
    )
    locked.enter(Happened.SENT_UP, page)
    locked.settle()
    return revision


def _stop_sending(locked: Locked, revision: Revision) -> None:
    if revision.is_up or revision.put_away_at:
        raise WrongMove("This revision is not in the folder any more.")
    if revision.stage != locked.stage:
        raise WrongMove(
            f"This picture lies in the folder for {revision.stage}, but the item is at "
            f"{locked.stage.value}. Put it away and upload it for that stage."
        )
    laid = bool(revision.laid and revision.picture)
    locked.stop_for(
        why_not_send_up(locked.slate(), checksum=revision.sha256, laid=laid)
    )


def _live(locked: Locked, facets: list[Facet]) -> list[Initial]:
    rows = Initial.objects.filter(
        slip__item=locked.item,
        slip__stage=locked.stage,
        facet__in=facets,
        ended_at=None,
    )
    return list(rows.select_related("person"))


def _same_sources(locked: Locked, revision: Revision) -> list[Initial]:
    """Clearance is carried at once when the new picture has the same source list."""
    now = list_digest(source_list(locked.item, revision))
    return [old for old in _live(locked, [Facet.CLEARANCE]) if old.sources == now]


def _all_stet(locked: Locked) -> bool:
    """Whether the art director may stand by for the artist: every line was stet."""
    issued = Note.objects.filter(
        item=locked.item,
        stage=locked.stage,
        issued_at__isnull=False,
        sort__in=BLOCKING,
    )
    states = set(issued.values_list("state", flat=True))
    return Role.ART_DIRECTOR in locked.roles and states == {Note.State.STET}


@transaction.atomic
def stand_by(*, by: Person, item: Item, event: str) -> None:
    """Show the same picture again (T2b), when nothing issued is still open."""
    role = Role.ILLUSTRATOR
    locked = lock(item, by=by, event=event, role=role)
    if happened_already(locked.book.key, locked.event):
        return
    if not may(Act.SEND_UP, locked.roles) and not _all_stet(locked):
        locked.require(Act.SEND_UP)
    locked.stop_for(why_not_stand_by(locked.slate()))
    revision = locked.current()
    if revision is None:
        raise WrongMove("Nothing was sent up at this stage yet.")
    rest = [facet for facet in Facet if facet is not Facet.CLEARANCE]
    locked.lapse(rest, "the artist stands by the same picture")
    kept = _live(locked, [Facet.CLEARANCE])
    locked.close_slip()
    left = locked.standing
    locked.move(Move.STAND_BY)
    slip = locked.open_slip(revision, left=left)
    for initial in kept:
        initial.slip = slip
        initial.save()
    late_open(locked)
    page = locked.page(about_key=revision.key, checksum=revision.sha256)
    locked.enter(Happened.STOOD_BY, page)
    locked.settle()
