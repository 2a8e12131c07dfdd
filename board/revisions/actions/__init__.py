"""The only code that writes revisions: taken in, laid again, put away, numbered."""

from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from accounts.models import Person
from board.books.actions import writer
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.books.rules.refitting import Refit
from board.daybook.actions import THE_BOARD, Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import WrongMove
from board.permits import Act, Role, require
from board.repro import leases, store, unlaid
from board.revisions.models import Revision, Upload
from board.revisions.rules import PAIRS, Declared, Laying, require_points

PREPARE = "board.revisions.tasks.prepare"
BY_HAND = Revision.Laid.BY_HAND


def new_revision(upload: Upload, item: Item, *, event: str) -> Revision:
    """Make the revision of a file taken in, enter it and ring for its preparation."""
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
    enter_act(Happened.UPLOADED, revision, book, by=upload.by, event=event)
    leases.ring(PREPARE, revision)
    return revision


def enter_act(
    happened: Happened,
    revision: Revision,
    book: Book,
    *,
    by: Person | None,
    event: str = "",
    **details: Any,
) -> None:
    """Enter what happened to a revision; the caller holds the book's row."""
    page = Page(
        book_key=book.key,
        item_key=revision.item.key,
        stage=revision.stage,
        about_key=revision.key,
        checksum=revision.sha256,
        details={"in_folder": not revision.is_up, **details},
    )
    hand = writer(by, Role.ILLUSTRATOR) if by else THE_BOARD
    enter(happened, page, by=hand, event=event)


def enter_laid(revision: Revision) -> None:
    """Enter how a revision was laid; the caller is the preparation's last step."""
    book = Book.objects.select_for_update().get(pk=revision.item.book_id)
    enter_act(
        Happened.LAID,
        revision,
        book,
        by=None,
        how=revision.laid,
        error_bar_mm=revision.error_bar_mm,
    )


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
    enter_act(Happened.LAID, revision, book, by=by, event=event, asked=laying.how)
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


def lay_over(item: Item, fit: Refit) -> None:
    """Have every picture of an item laid on its new sheet; `slips` holds the book.

    The matrix is known, so nothing is registered again; until then nothing is shown.
    """
    for revision in item.revisions.filter(matrix__isnull=False):
        revision.matrix = fit.matrix(revision.matrix or [])
        if revision.picture:
            transaction.on_commit(partial(store.drop_picture, revision.picture))
        revision.picture = ""
        leases.start_over(revision, PREPARE)


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
    enter_act(Happened.PUT_AWAY, revision, book, by=by, event=event, undone=not away)
    if away:  # big, and developed anew should it be laid after all
        transaction.on_commit(partial(unlaid.drop_developed, revision.key))
    return revision


def number_it(revision: Revision, *, now: datetime) -> Revision:
    """Give the next number of its item and stage; slips' send-up calls it, locked."""
    rows = Revision.objects.filter(item=revision.item_id, stage=revision.stage)
    last: int | None = rows.aggregate(top=Max("number"))["top"]
    revision.number, revision.sent_up_at = (last or 0) + 1, now
    revision.save(update_fields=["number", "sent_up_at"])
    return revision
