"""Writing uploads and revisions: taken in, laid again, put away, numbered."""

from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from accounts.models import Person
from board.books.actions import writer
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.books.rules import Stage
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import BoardError, NotUnderstood, WrongMove
from board.permits import Act, Role, require
from board.repro import leases, store
from board.repro.sniffing import HEAD, sniff
from board.revisions.models import Revision, Upload
from board.revisions.queries import guess_for, open_stage, same_bytes
from board.revisions.rules import (
    PAIRS,
    Declared,
    Laying,
    require_lawful,
    require_points,
)

PREPARE = "board.revisions.tasks.prepare"
MOST_UNDERWAY = 80
BY_HAND = Revision.Laid.BY_HAND


@dataclass(frozen=True)
class UploadDraft:
    """What is said about a file before its first byte."""

    filename: str
    length: int
    item: Item | None = None
    stage: str = ""
    declared: str = Declared.BLED


# ---------------------------------------------------------------- on the way in


@transaction.atomic
def start_upload(*, by: Person, book: Book, draft: UploadDraft) -> Upload:
    """Make room for a file; its bytes come through the tus door under the same key."""
    require(Act.UPLOAD, roles_of(by, book))
    _require_lawful(draft)
    store.require_room(draft.length)
    _require_quota(by)
    item, stage = draft.item, draft.stage
    sure = item is not None
    if item is None:
        item, stage, _ = guess_for(book, draft.filename)
    elif item.book_id != book.pk:
        raise NotUnderstood("That item belongs to another book.")
    elif not stage:
        stage = open_stage(item)
    return Upload.objects.create(
        book_key=book.key,
        by=by,
        filename=draft.filename[-255:],
        length=draft.length,
        item=item,
        stage=stage,
        declared=draft.declared,
        sure=sure and bool(stage),
        expires_at=timezone.now() + timedelta(days=settings.BOARD_UPLOAD_DAYS),
    )


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


def arrived(key: str) -> None:
    """Take in a file whose last byte came; it may be called again after a kill."""
    upload = Upload.objects.select_related("item__book", "by").filter(key=key).first()
    if upload is None or upload.state != Upload.State.RECEIVING:
        return
    part = store.part_path(key)
    try:
        sha256 = _kept(upload)
    except BoardError as refused:
        _refuse(upload, refused.says)
        part.unlink(missing_ok=True)
        return
    with transaction.atomic():
        rows = Upload.objects.filter(pk=upload.pk, state=Upload.State.RECEIVING)
        if not rows.update(state=Upload.State.ARRIVED, sha256=sha256):
            return
        upload.refresh_from_db()
        if not upload.sure or upload.item is None:
            return
        says = same_bytes(upload.item, upload.stage, sha256)
        if says:
            _refuse(upload, says)
        else:
            _take_in(upload, upload.item, event=f"upload-{upload.key}")


def _kept(upload: Upload) -> str:
    """Move the part into the originals under its checksum, unless it is no picture."""
    part = store.part_path(upload.key)
    if not part.exists() and upload.sha256:
        return upload.sha256  # killed after the move
    with part.open("rb") as file:
        sniff(file.read(HEAD), upload.filename)
    sha256 = store.checksum(part)
    Upload.objects.filter(pk=upload.pk).update(sha256=sha256)
    store.keep_original(part, sha256)
    return sha256


def _refuse(upload: Upload, says: str) -> None:
    Upload.objects.filter(pk=upload.pk).update(state=Upload.State.REFUSED, refused=says)


@transaction.atomic
def end_upload(upload: Upload) -> None:
    """Drop a file that is on its way or waits for its match."""
    unfinished = [Upload.State.RECEIVING, Upload.State.ARRIVED, Upload.State.REFUSED]
    rows = Upload.objects.filter(pk=upload.pk, state__in=unfinished)
    if rows.update(state=Upload.State.ENDED):
        transaction.on_commit(lambda: _drop_files(upload.key, upload.sha256))


def ended(key: str) -> None:
    """Note that the sender ended an upload through the tus door."""
    upload = Upload.objects.filter(key=key).first()
    if upload is not None:
        end_upload(upload)


def _drop_files(key: str, sha256: str) -> None:
    store.part_path(key).unlink(missing_ok=True)
    if not sha256 or Revision.objects.filter(sha256=sha256).exists():
        return
    held = Upload.objects.filter(sha256=sha256).exclude(
        state__in=[Upload.State.ENDED, Upload.State.REFUSED]
    )
    if not held.exists():
        store.drop_original(sha256)


def expire_uploads() -> int:
    """End what was never finished or matched in time; gives how many."""
    late = Upload.objects.filter(
        state__in=[Upload.State.RECEIVING, Upload.State.ARRIVED, Upload.State.REFUSED],
        expires_at__lt=timezone.now(),
    )
    found = list(late[:100])
    for upload in found:
        end_upload(upload)
    return len(found)


# ------------------------------------------------------------------ into the folder


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
    says = same_bytes(upload.item, upload.stage, upload.sha256)
    if says:
        raise WrongMove(says)
    return _take_in(upload, upload.item, event=event)


def _take_in(upload: Upload, item: Item, *, event: str) -> Revision:
    """Make the revision, enter it and ring for its preparation; one transaction."""
    book = Book.objects.select_for_update().get(pk=item.book_id)
    revision = Revision.objects.create(
        item=item,
        stage=upload.stage,
        by=upload.by,
        upload=upload,
        filename=upload.filename,
        sha256=upload.sha256,
        size=upload.length,
        uploaded_at=timezone.now(),
        declared=upload.declared,
        step="received",
    )
    Upload.objects.filter(pk=upload.pk).update(state=Upload.State.TAKEN_IN, sure=True)
    _enter(Happened.UPLOADED, revision, book, by=upload.by, event=event)
    leases.ring(PREPARE, revision)
    return revision


def _enter(
    happened: Happened,
    revision: Revision,
    book: Book,
    *,
    by: Person | None,
    event: str = "",
    **details: Any,
) -> None:
    page = Page(
        book_key=book.key,
        item_key=revision.item.key,
        stage=revision.stage,
        about_key=revision.key,
        checksum=revision.sha256,
        details={"in_folder": not revision.is_up, **details},
    )
    if by is None:
        enter(happened, page, event=event)
    else:
        enter(happened, page, by=writer(by, Role.ILLUSTRATOR), event=event)


def enter_laid(revision: Revision) -> None:
    """Enter how a revision was laid; the caller is the preparation's last step."""
    book = Book.objects.select_for_update().get(pk=revision.item.book_id)
    _enter(
        Happened.LAID,
        revision,
        book,
        by=None,
        how=revision.laid,
        error_bar_mm=revision.error_bar_mm,
    )


# ------------------------------------------------------------------ in the folder


@transaction.atomic
def lay_again(
    revision: Revision, *, laying: Laying, by: Person, event: str
) -> Revision:
    """Have a revision in the folder prepared and laid anew, another way."""
    book = _lock(revision, by)
    if happened_already(book.key, event):
        return revision
    require_points(laying)
    by_its_word = laying.how in list(Declared)
    revision.laid = BY_HAND if laying.how == PAIRS else ""
    if by_its_word:
        revision.laid = revision.declared = laying.how
    revision.points = laying.points
    if revision.picture:
        transaction.on_commit(partial(store.drop_picture, revision.picture))
    revision.matrix = revision.laid_on = None
    revision.confidence = revision.error_bar_mm = None
    revision.picture = revision.unlaid_because = ""
    leases.start_over(revision, PREPARE)
    _enter(Happened.LAID, revision, book, by=by, event=event, asked=laying.how)
    return revision


def _lock(revision: Revision, by: Person) -> Book:
    book = Book.objects.select_for_update().get(pk=revision.item.book_id)
    require(Act.UPLOAD, roles_of(by, book))
    revision.refresh_from_db()
    if revision.is_up:
        raise WrongMove(
            "This revision has been sent up; it stays as it was seen. "
            "Send the picture again as a new file to lay it another way."
        )
    return book


@transaction.atomic
def put_away(revision: Revision, *, by: Person, event: str) -> Revision:
    """Take a revision out of the folder; it can be taken out again."""
    return _put(revision, by=by, event=event, away=True)


@transaction.atomic
def take_out_again(revision: Revision, *, by: Person, event: str) -> Revision:
    """Undo putting away."""
    return _put(revision, by=by, event=event, away=False)


def _put(revision: Revision, *, by: Person, event: str, away: bool) -> Revision:
    book = _lock(revision, by)
    if happened_already(book.key, event) or bool(revision.put_away_at) == away:
        return revision
    revision.put_away_at = timezone.now() if away else None
    revision.save(update_fields=["put_away_at"])
    _enter(Happened.PUT_AWAY, revision, book, by=by, event=event, undone=not away)
    return revision


def number_it(revision: Revision, *, now: Any) -> Revision:
    """Give the next number of its item and stage; slips' send-up calls it, locked."""
    rows = Revision.objects.filter(item=revision.item_id, stage=revision.stage)
    last: int | None = rows.aggregate(top=Max("number"))["top"]
    revision.number, revision.sent_up_at = (last or 0) + 1, now
    revision.save(update_fields=["number", "sent_up_at"])
    return revision
