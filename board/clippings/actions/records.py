"""Entering sources, their record, contacts and photographs; nothing here clears one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from django.db import transaction

from accounts.models import Person
from accounts.rules import new_key
from board.books.actions import hand
from board.books.models import Book
from board.books.queries import roles_of
from board.clippings.models import Clipping, ClippingPhoto, Contact, Judgement
from board.clippings.rules import SIDES, Clearance
from board.daybook.actions import Page, enter, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, Stale
from board.permits import Act, require
from board.repro.scans import take_in

PHOTO_MB = 60
GRANT = frozenset(
    [
        "territory", "languages", "term", "print_run", "editions", "e_book",
        "merchandise", "fee", "copies", "credit_wording", "document",
    ]
)  # fmt: skip
FIELDS = GRANT | frozenset(
    [
        "code", "what", "kind", "maker", "publisher", "made_on", "place", "edition",
        "acquired_at", "acquired_on", "part_used", "recognisable", "matters",
        "rights_holder", "holder_contact", "remark",
    ]
)  # fmt: skip


def event_of(by: Person, event: str) -> str:
    """The event's id as the record keeps it."""
    if not 8 <= len(event) <= 40:
        raise NotUnderstood("Every write carries an event id of 8 to 40 characters.")
    return f"{by.key}:{event}"


def _enter(
    happened: Happened,
    source: Clipping,
    *,
    by: Person,
    act: Act,
    event: str,
    words: str,
) -> None:
    page = Page(source.book.key, about_key=source.key, details={"words": words})
    enter(happened, page, by=hand(by, source.book, act), event=event)


def _lock(book: Book) -> Book:
    return Book.objects.select_for_update().get(pk=book.pk)


@transaction.atomic
def enter_source(
    *, by: Person, book: Book, draft: Mapping[str, Any], event: str
) -> Clipping:
    """Enter a source; its clearance is unknown until rights judges it."""
    # Any: a record holds words and a mapping of answers
    require(Act.ENTER_SOURCE, roles_of(by, book))
    book, sent, now = _lock(book), event_of(by, event), this_moment()
    code = str(draft.get("code", "")).strip()
    before = happened_already(book.key, sent)
    if before:
        return Clipping.objects.get(key=before.about_key)
    if Clipping.objects.filter(book=book, code=code).exists():
        raise NotUnderstood(f"{code} is taken on this book; choose another code.")
    if not code or not str(draft.get("what", "")).strip():
        raise NotUnderstood("A source has a code and a word on what it is.")
    fields = {name: draft[name] for name in FIELDS & set(draft)} | {"code": code}
    made = Clipping.objects.create(
        book=book, clearance_since=now, entered_by=by, entered_at=now, **fields
    )
    Judgement.objects.create(
        clipping=made, clearance=Clearance.UNKNOWN, because="", by=by, at=now
    )
    act = Act.ENTER_SOURCE
    _enter(Happened.SOURCE_ENTERED, made, by=by, act=act, event=sent, words=str(made))
    return made


@transaction.atomic
def change_source(
    *, by: Person, source: Clipping, draft: Mapping[str, Any], version: int, event: str
) -> Clipping:
    """Change the record; what a grant says is rights' to write."""
    # Any: a record holds words and a mapping of answers
    roles = roles_of(by, source.book)
    require(Act.ENTER_SOURCE, roles)
    _lock(source.book)
    kept = Clipping.objects.select_for_update().get(pk=source.pk)
    if kept.version != version:
        raise Stale
    changed = [
        name
        for name in sorted(FIELDS & set(draft))
        if getattr(kept, name) != draft[name]
    ]
    if not changed:
        return kept
    if GRANT & set(changed):
        require(Act.JUDGE_SOURCE, roles)
    for name in changed:
        setattr(kept, name, draft[name])
    kept.version += 1
    kept.save()
    told = f"{kept.code}: {', '.join(changed).replace('_', ' ')}"
    sent, act = event_of(by, event), Act.ENTER_SOURCE
    _enter(Happened.SOURCE_CHANGED, kept, by=by, act=act, event=sent, words=told)
    return kept


@dataclass(frozen=True)
class Spoken:
    """One contact: when, with whom, what was said."""

    on: date
    whom: str
    said: str


@transaction.atomic
def log_contact(*, by: Person, source: Clipping, spoken: Spoken, event: str) -> Contact:
    """Add a letter, call or answer to the log of contacts."""
    require(Act.ENTER_SOURCE, roles_of(by, source.book))
    _lock(source.book)
    sent = event_of(by, event)
    before = Contact.objects.filter(event=sent).first()
    if before:
        return before
    if not spoken.whom.strip() or not spoken.said.strip():
        raise NotUnderstood("Say with whom it was and what was said.")
    made = Contact.objects.create(
        clipping=source,
        on=spoken.on,
        whom=spoken.whom.strip(),
        said=spoken.said.strip(),
        by=by,
        at=this_moment(),
        event=sent,
    )
    act, words = Act.ENTER_SOURCE, source.code
    _enter(Happened.CONTACT_LOGGED, source, by=by, act=act, event=sent, words=words)
    return made


@dataclass(frozen=True)
class Sent:
    """A photograph as it came: where its bytes lie and how it was called."""

    path: Path
    filename: str
    side: str


def keep_photo(
    *, by: Person, source: Clipping, sent: Sent, event: str
) -> ClippingPhoto:
    """Take a photograph in like any picture: looked over and developed apart.

    Raises
    ------
    PictureRefused, TooLarge, DiskNearlyFull
        with a sentence for the person who sent it; nothing is kept then.
    """
    require(Act.ENTER_SOURCE, roles_of(by, source.book))
    named = event_of(by, event)
    before = ClippingPhoto.objects.filter(event=named).first()
    if before:
        return before
    if sent.side not in SIDES:
        raise NotUnderstood(f"A photograph shows one of: {', '.join(SIDES)}.")
    key = new_key()
    taken = take_in(sent.path, sent.filename, key=key, most_mb=PHOTO_MB)
    photo = ClippingPhoto(
        key=key,
        clipping=source,
        side=sent.side,
        filename=sent.filename[-255:],
        sha256=taken.sha256,
        width=taken.width,
        height=taken.height,
        by=by,
        at=this_moment(),
        event=named,
    )
    with transaction.atomic():
        _lock(source.book)
        photo.save(force_insert=True)
        told, act = f"{source.code}, {sent.side}", Act.ENTER_SOURCE
        _enter(
            Happened.SOURCE_PHOTOGRAPHED, source,
            by=by, act=act, event=named, words=told,
        )  # fmt: skip
    return photo
