"""The note sheet goes out: numbered, frozen, one voice (T5)."""

from django.db import transaction

from accounts.models import Person
from board.books.models import Item
from board.books.rules import Standing
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import WrongMove
from board.permits import Act, Role
from board.slips.actions.locked import Locked, lock
from board.slips.rules.guards import why_not_issue
from board.slips.rules.moves import Move
from board.tissue.actions import issue
from board.tissue.models import Note, NoteSheet
from board.tissue.rules import ASKING


@transaction.atomic
def issue_sheet(*, by: Person, item: Item, event: str) -> NoteSheet:
    """Send every open note, keep and new comment to the artist as one sheet.

    While the artist has the item it is a supplement: only what was not sent yet.
    """
    locked = lock(item, by=by, event=event, role=Role.ART_DIRECTOR)
    sent = happened_already(locked.book.key, locked.event)
    if sent:
        return NoteSheet.objects.get(key=sent.about_key)
    locked.require(Act.ISSUE_SHEET)
    locked.stop_for(why_not_issue(locked.slate()))
    revision = locked.current()
    if revision is None:
        raise WrongMove("Nothing was sent up at this stage yet.")
    supplement = locked.standing is not Standing.HUNG
    notes = _to_send(locked, supplement=supplement)
    sheet = issue(locked.item, revision, notes, by=by, now=locked.now)
    locked.move(Move.ISSUE_SHEET)
    page = locked.page(
        about_key=sheet.key,
        checksum=revision.sha256,
        details={"sheet": sheet.number, "lines": len(notes)},
    )
    locked.enter(Happened.SHEET_ISSUED, page)
    return sheet


def _to_send(locked: Locked, *, supplement: bool) -> list[Note]:
    here = Note.objects.filter(item=locked.item, stage=locked.stage)
    rows = here.select_related("by").order_by("raised_at", "pk")
    asking = [
        note for note in rows if note.state == Note.State.OPEN and note.sort in ASKING
    ]
    keeps = [note for note in rows if note.state == Note.State.STANDS]
    comments = [
        note
        for note in rows
        if note.state == Note.State.NOTED and note.issued_at is None
    ]
    chosen = [*keeps, *asking, *comments]
    return [note for note in chosen if not (supplement and note.issued_at)]
