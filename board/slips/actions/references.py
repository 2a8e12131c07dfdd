"""Reference pictures under notes: sent by the writer, seen by whoever sees the note."""

from pathlib import Path

from django.db import transaction

from accounts.models import Person
from accounts.rules import new_key
from board.daybook.rules import Happened
from board.errors import NotPermitted, WrongMove
from board.permits import Act, may
from board.repro.scans import take_in
from board.repro.unlaid import drop_glimpse
from board.slips.actions.locked import Locked, event_of
from board.slips.actions.notes import opened
from board.tissue.actions import Given, write_reference
from board.tissue.models import Note, NotePicture

MOST_MB = 20
MOST = 4
ONLY_WRITER = "Only its writer may add pictures to a note. Reply to it instead."
ENDED = "This note is closed, so no picture can be added to it."
ENOUGH = f"A note holds {MOST} pictures. Take one off first."


def add_picture(
    *, by: Person, note: Note, path: Path, filename: str, event: str
) -> NotePicture:
    """Put a reference picture under one's own note; the file is looked over apart.

    Raises
    ------
    PictureRefused, TooLarge, DiskNearlyFull
        with a sentence for the person who sent it; nothing is kept then.
    """
    named = event_of(by, event)
    sent = NotePicture.objects.filter(by=by, event=named).first()
    if sent is not None:
        return sent
    with transaction.atomic():  # asked before the darkroom works, and again after
        _require_own(opened(note, by=by, event=event)[1], by)
    key = new_key()
    taken = take_in(path, filename, key=key, most_mb=MOST_MB)
    try:
        with transaction.atomic():
            locked, fresh, _ = opened(note, by=by, event=event)
            _require_own(fresh, by)
            given = Given(key, filename, locked.event, locked.now)
            made = write_reference(note=fresh, by=by, given=given, taken=taken)
            details = {"words": made.filename}
            locked.enter(Happened.PICTURE_ADDED, locked.page_of(fresh, **details))
    except BaseException:
        drop_glimpse(key)
        raise
    return made


def _require_own(note: Note, by: Person) -> None:
    if note.by_id != by.pk:
        raise NotPermitted(ONLY_WRITER)
    if note.ended_at:
        raise WrongMove(ENDED)
    if note.pictures.filter(taken_off_at=None).count() >= MOST:
        raise WrongMove(ENOUGH)


@transaction.atomic
def take_picture_off(*, by: Person, picture: NotePicture, event: str) -> NotePicture:
    """Take a reference picture off: its writer, or the editor a note waits with."""
    locked, note, before = opened(picture.note, by=by, event=event)
    kept = NotePicture.objects.select_for_update().get(pk=picture.pk)
    if before or kept.taken_off_at:
        return kept
    if kept.by_id != by.pk and not _passes(locked, note):
        raise NotPermitted("Only whoever sent a picture may take it off.")
    kept.taken_off_at = locked.now
    kept.save(update_fields=["taken_off_at"])
    details = {"words": kept.filename}
    locked.enter(Happened.PICTURE_TAKEN_OFF, locked.page_of(note, **details))
    transaction.on_commit(lambda: drop_glimpse(kept.key))
    return kept


def _passes(locked: Locked, note: Note) -> bool:
    waits = note.state == Note.State.WITH_EDITOR
    return waits and may(Act.PASS_ON, locked.roles)
