"""Writing uploads: room made, bytes arrived, matched to an item, taken in."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import book_for, roles_of
from board.books.rules import Stage
from board.errors import BoardError, NotFound, NotUnderstood, PictureRefused, WrongMove
from board.permits import Act, may, require
from board.repro import store
from board.repro import uploads as parts
from board.repro.sniffing import HEAD, sniff
from board.revisions.actions import new_revision
from board.revisions.actions.storyboards import new_sheet
from board.revisions.models import Revision, Upload
from board.revisions.queries.storyboards import same_sheet
from board.revisions.queries.uploads import guess_for, open_stage, same_bytes
from board.revisions.rules import Declared, require_lawful

MOST_UNDERWAY = 80
CREDIT_ENDED = "Your credit as illustrator of this book has ended."
UNFINISHED = (Upload.State.RECEIVING, Upload.State.ARRIVED, Upload.State.REFUSED)


@dataclass(frozen=True)
class UploadDraft:
    """What is said about a file before its first byte."""

    filename: str
    length: int
    item: Item | None = None
    stage: str = ""
    declared: str = Declared.BLED
    storyboard: bool = False


def start_upload(*, by: Person, book: Book, draft: UploadDraft) -> Upload:
    """Make room for a file; its bytes come through the tus door under the same key."""
    upload = _write_upload(by, book, draft)
    parts.begin_upload(upload.key, length=upload.length, filename=upload.filename)
    return upload


@transaction.atomic
def _write_upload(by: Person, book: Book, draft: UploadDraft) -> Upload:
    require(Act.UPLOAD, roles_of(by, book))
    _require_lawful(draft)
    store.require_room(draft.length)
    _require_quota(by)
    item, stage = draft.item, draft.stage
    sure = item is not None
    if draft.storyboard:
        item, stage = None, ""
    elif item is None:
        item, stage, _ = guess_for(book, draft.filename)
    elif item.book_id != book.pk:
        raise NotUnderstood("That item belongs to another book.")
    elif not stage:
        stage = open_stage(item)
    return Upload.objects.create(
        book_key=book.key,
        by=by,
        filename=_seen(draft.filename),
        length=draft.length,
        item=item,
        stage=stage,
        declared=draft.declared,
        sure=draft.storyboard or (sure and bool(stage)),
        storyboard=draft.storyboard,
        expires_at=timezone.now() + timedelta(days=settings.BOARD_UPLOAD_DAYS),
    )


def _seen(filename: str) -> str:
    """Give a name without signs that break a line or turn its reading about."""
    return "".join(sign for sign in filename if sign.isprintable())[-255:] or "picture"


def _require_lawful(draft: UploadDraft) -> None:
    require_lawful(draft.filename, draft.length, settings.BOARD_MAX_BYTES)
    if draft.stage and draft.stage not in list(Stage):
        raise NotUnderstood("There is no such stage.")
    if draft.declared not in list(Declared):
        raise NotUnderstood("Say whether the picture is bled, trimmed or has corners.")


def _require_quota(by: Person) -> None:
    underway = Upload.objects.filter(
        by=by,
        state__in=[Upload.State.RECEIVING, Upload.State.ARRIVED],
        expires_at__gt=timezone.now(),
    )
    if underway.count() >= MOST_UNDERWAY:
        raise WrongMove(
            f"{MOST_UNDERWAY} files of yours are still on their way or wait for their "
            "match. Confirm or drop some of those, then send this one again."
        )


def created(payload: dict[str, Any], length: int, filename: str) -> str:
    """Make an upload for a client that creates it at the tus door; gives its key."""
    by = Person.objects.filter(key=payload.get("by", ""), is_active=True).first()
    if by is None:
        raise NotFound
    book = book_for(by, payload.get("book", ""), Act.UPLOAD)
    item = book.items.filter(key=payload.get("item", "")).first()
    draft = UploadDraft(
        filename,
        length,
        item,
        payload.get("stage", ""),
        payload.get("declared", Declared.BLED),
        bool(payload.get("storyboard")),
    )
    return str(_write_upload(by, book, draft).key)


def receive_whole(upload: Upload, pieces: Iterable[bytes]) -> None:
    """Take the bytes of a plain form, which come at once and not through the door."""
    path = store.part_path(upload.key)
    with path.open("wb") as part:
        for piece in pieces:
            part.write(piece)
    # Written down first: should we be killed now, the sweep tells the board.
    note = replace(parts.read_note(upload.key), sha256=store.checksum(path))
    parts.save_note(upload.key, note)
    arrived(upload.key, path, note.sha256)


def arrived(upload_key: str, path: Path, sha256: str) -> None:
    """Take in a file whose last byte came; it may be called again after a kill."""
    found = Upload.objects.select_related("item__book", "by").filter(key=upload_key)
    upload = found.first()
    if upload is None or upload.state != Upload.State.RECEIVING:
        return
    try:
        _keep(upload, path, sha256)
    except BoardError as refused:
        _refuse(upload, refused.says)
        path.unlink(missing_ok=True)
        return
    _note_arrival(upload, sha256)


def _keep(upload: Upload, path: Path, sha256: str) -> None:
    """Move the part into the originals under its checksum, unless it is no picture."""
    if path.exists():
        with path.open("rb") as file:
            sniff(file.read(HEAD), upload.filename)
    try:
        store.keep_original(path, sha256)
    except NotFound as lost:
        raise PictureRefused(
            f"What came of {upload.filename} was lost. Send it again."
        ) from lost


@transaction.atomic
def _note_arrival(upload: Upload, sha256: str) -> None:
    rows = Upload.objects.filter(pk=upload.pk, state=Upload.State.RECEIVING)
    if not rows.update(state=Upload.State.ARRIVED, sha256=sha256):
        return
    upload.refresh_from_db()
    if upload.storyboard:
        _take_sheet(upload)
        return
    if not upload.sure or upload.item is None:
        return
    says = _why_not(upload, upload.item)
    if says:
        _refuse(upload, says)
    else:
        _take_in(upload, upload.item, event=f"upload-{upload.key}")


def _take_sheet(upload: Upload) -> None:
    book = Book.objects.get(key=upload.book_key)
    if not may(Act.UPLOAD, roles_of(upload.by, book)):
        _refuse(upload, CREDIT_ENDED)
        return
    says = same_sheet(book, upload)
    if says:
        _refuse(upload, says)
        return
    Upload.objects.filter(pk=upload.pk).update(state=Upload.State.TAKEN_IN)
    new_sheet(upload, book)


def _why_not(upload: Upload, item: Item) -> str:
    if not may(Act.UPLOAD, roles_of(upload.by, item.book)):
        return CREDIT_ENDED
    return same_bytes(item, upload.stage, upload.sha256)


def _refuse(upload: Upload, says: str) -> None:
    Upload.objects.filter(pk=upload.pk).update(state=Upload.State.REFUSED, refused=says)


@transaction.atomic
def end_upload(upload: Upload) -> None:
    """Drop a file that is on its way or waits for its match."""
    rows = Upload.objects.filter(pk=upload.pk, state__in=UNFINISHED)
    if rows.update(state=Upload.State.ENDED):
        transaction.on_commit(lambda: _drop_files(upload.key, upload.sha256))


def ended(upload_key: str) -> None:
    """Note that an upload was ended at the tus door, or that its last day passed."""
    upload = Upload.objects.filter(key=upload_key).first()
    if upload is not None:
        end_upload(upload)


def _drop_files(key: str, sha256: str) -> None:
    parts.drop_part(key)
    if not sha256 or Revision.objects.filter(sha256=sha256).exists():
        return
    held = Upload.objects.filter(sha256=sha256).exclude(
        state__in=[Upload.State.ENDED, Upload.State.REFUSED]
    )
    if not held.exists():
        store.drop_original(sha256)


def sweep_uploads() -> int:
    """Hear of files whose arrival was lost to a kill; end what came too late."""
    for key in parts.untold_uploads():
        # One that is being told at this moment, or just went, must not stop the rest.
        with suppress(BoardError, OSError):
            parts.finish(key)
    parts.expire_uploads()
    late = Upload.objects.filter(state__in=UNFINISHED, expires_at__lt=timezone.now())
    found = list(late[:100])
    for upload in found:
        end_upload(upload)
    return len(found)


@transaction.atomic
def correct_match(
    upload: Upload, *, item: Item, stage: str, declared: str, by: Person
) -> Upload:
    """Say which item and stage a file is for, before it is taken in."""
    require(Act.UPLOAD, roles_of(by, item.book))
    if upload.state not in (Upload.State.RECEIVING, Upload.State.ARRIVED):
        raise WrongMove(f"{upload.filename} is {upload.state}; send it again instead.")
    if item.book.key != upload.book_key:
        raise NotUnderstood("That item belongs to another book.")
    if upload.storyboard:
        raise NotUnderstood("This is a storyboard sheet; its frames are for items.")
    draft = UploadDraft(upload.filename, upload.length, item, stage, declared)
    _require_lawful(draft)
    if item.stages.filter(stage=stage, waived="").first() is None:
        raise NotUnderstood(f"{item.label} has no such stage, or it was waived.")
    upload.item, upload.stage, upload.declared = item, stage, declared
    upload.save(update_fields=["item", "stage", "declared"])
    return upload


@transaction.atomic
def confirm_match(upload: Upload, *, by: Person, event: str) -> Revision | None:
    """Put a matched file into its item's folder, or as soon as its last byte is here."""
    upload = Upload.objects.select_for_update().get(pk=upload.pk)
    if upload.state == Upload.State.TAKEN_IN:
        return Revision.objects.get(upload=upload)
    if upload.item is None or not upload.stage:
        raise NotUnderstood(f"Choose the item and the stage of {upload.filename}.")
    require(Act.UPLOAD, roles_of(by, upload.item.book))
    if upload.state == Upload.State.RECEIVING:
        Upload.objects.filter(pk=upload.pk).update(sure=True)
        return None
    if upload.state != Upload.State.ARRIVED:
        raise WrongMove(f"{upload.filename} is {upload.state}; send it again instead.")
    says = _why_not(upload, upload.item)
    if says:
        raise WrongMove(says)
    return _take_in(upload, upload.item, event=event)


def _take_in(upload: Upload, item: Item, *, event: str) -> Revision:
    Upload.objects.filter(pk=upload.pk).update(state=Upload.State.TAKEN_IN, sure=True)
    return new_revision(upload, item, event=event)
