"""Keeping the paper that a grant is written on; rights alone."""

from dataclasses import dataclass
from pathlib import Path

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book
from board.books.queries import roles_of
from board.clippings.actions.records import event_of
from board.clippings.models import Clipping, GrantDocument
from board.daybook.actions import Page, enter, this_moment
from board.daybook.rules import Happened
from board.errors import NotUnderstood, TooLarge
from board.permits import Act, require
from board.repro.papers import MOST_BYTES, require_paper
from board.repro.store import copy_original, require_room


@dataclass(frozen=True)
class SentPaper:
    """A document as it came: where its bytes lie and how it was called."""

    path: Path
    filename: str


def keep_document(
    *, by: Person, source: Clipping, sent: SentPaper, event: str
) -> GrantDocument:
    """Keep a grant's document; it is only stored and handed back, never opened.

    Raises
    ------
    NotUnderstood, TooLarge, DiskNearlyFull
        with a sentence for the person who sent it; nothing is kept then.
    """
    require(Act.JUDGE_SOURCE, roles_of(by, source.book))
    named = event_of(by, event)
    before = GrantDocument.objects.filter(event=named).first()
    if before:
        return before
    size = sent.path.stat().st_size
    if size > MOST_BYTES:
        raise TooLarge(
            f"A grant's document has {MOST_BYTES // 1_000_000} MB at the most. "
            "Send it as a smaller PDF."
        )
    if not size:
        raise NotUnderstood("The document is empty. Choose it again.")
    require_paper(sent.path)
    require_room(size)
    _place, sha256 = copy_original(sent.path)
    made = GrantDocument(
        clipping=source,
        filename=Path(sent.filename.replace("\\", "/")).name[-255:] or "document",
        sha256=sha256,
        size=size,
        by=by,
        at=this_moment(),
        event=named,
    )
    with transaction.atomic():
        Book.objects.select_for_update().get(pk=source.book_id)
        made.save(force_insert=True)
        page = Page(
            source.book.key,
            about_key=source.key,
            checksum=sha256,
            details={"words": f"{source.code}, a grant's document"},
        )
        writer = hand(by, source.book, Act.JUDGE_SOURCE)
        enter(Happened.SOURCE_CHANGED, page, by=writer, event=named)
    return made
