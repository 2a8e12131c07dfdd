"""The artist names a change that nobody asked for; it moves nothing."""

from django.db import transaction

from accounts.models import Person
from board.daybook.rules import Happened
from board.errors import NotFound, NotUnderstood
from board.permits import Act, Role
from board.revisions.models import Revision
from board.slips.actions.locked import event_of, lock
from board.tissue.actions import write_change_word
from board.tissue.models import ChangeWord, Note
from board.tissue.queries import sees
from board.tissue.queries.asking import ledger_for


@transaction.atomic
def name_change(  # noqa: PLR0913 - a pair, a place and what is said
    *,
    by: Person,
    before: Revision,
    after: Revision,
    place: int,
    words: str,
    event: str,
    note: Note | None = None,
) -> ChangeWord:
    """Say a word on a measured change, or name the line it answers."""
    locked = lock(after.item, by=by, event=event, role=Role.ILLUSTRATOR)
    sent = ChangeWord.objects.filter(by=by, event=event_of(by, event)).first()
    if sent is not None:
        return sent
    locked.require(Act.ANSWER_LINE)
    if note and (
        note.item_id != after.item_id or not sees(note, by, locked.book, locked.roles)
    ):
        raise NotFound
    words = words.strip()[:400] or (note.line if note else "")
    if not words:
        raise NotUnderstood("Say a word about the change, or name the line it answers.")
    changes = {
        change.place: change.region for change in ledger_for(by, before, after).changes
    }
    if place not in changes:
        raise NotUnderstood("That change is not in the list (any more). Look again.")
    made = write_change_word(
        pair=(before, after),
        region=changes[place],
        words=words,
        note=note,
        by=by,
        event=locked.event,
        now=locked.now,
    )
    page = locked.page(
        about_key=made.key,
        checksum=after.sha256,
        details={"words": words, "line": note.line if note else ""},
    )
    locked.enter(Happened.CHANGE_NAMED, page)
    return made
