"""The ripple: an act run on a copy and compared, then done exactly as foreseen."""

from collections.abc import Callable
from typing import TypeVar

from django.db import transaction

from board.books.models import Book, Item, ItemStage, TextVersion
from board.books.rules import Standing
from board.errors import BoardError
from board.readings.queries import readings_on
from board.slips.actions.locked import lock_book
from board.slips.models import (
    BookSlip,
    FormatChange,
    Initial,
    LookAgain,
    Reopening,
)
from board.slips.queries.slates import slates_of
from board.slips.rules.ripple import Ripple, State, between
from board.tissue.models import Note

Made = TypeVar("Made")


class _TakenBack(Exception):
    """Undoes what was only looked at, with all that would have followed its commit."""


class RippleDiffers(BoardError):
    """Somebody was faster: the act would touch something else by now."""

    status = 412
    says = (
        "This would touch something else by now. Look at what it touches, then decide."
    )

    def __init__(self, ripple: Ripple) -> None:
        super().__init__()
        self.ripple = ripple


def foreseen(book: Book, act: Callable[[], object]) -> Ripple:
    """What the act would touch; nothing of it stays, and nobody is told."""
    found: list[Ripple] = []
    try:
        with transaction.atomic():
            found.append(_run(book, act))
            raise _TakenBack
    except _TakenBack:
        return found[0]


@transaction.atomic
def as_foreseen(book: Book, digest: str, act: Callable[[], Made]) -> Made:
    """Do the act, if it touches exactly what was shown; else show it again."""
    before = _state(lock_book(book))
    made = act()
    ripple = between(before, _state(book))
    if ripple.digest != digest:
        raise RippleDiffers(ripple)
    return made


def _run(book: Book, act: Callable[[], object]) -> Ripple:
    before = _state(lock_book(book))
    act()
    return between(before, _state(book))


def _read_early(book: Book) -> list[str]:
    """Notes that reach the artist before their sheet, where the book says so."""
    if not book.notes_at_once:
        return []
    notes = Note.objects.filter(item__book=book, issued_at=None).exclude(
        state__in=[Note.State.WITH_EDITOR, Note.State.DECLINED]
    )
    return [note.key for note in notes]


def _state(book: Book) -> State:
    book = Book.objects.get(pk=book.pk)
    keys = dict(book.items.values_list("pk", "key"))
    flags = LookAgain.objects.filter(item__book=book, looked_at=None)
    formats = FormatChange.objects.filter(book=book)
    stages = ItemStage.objects.filter(item__book=book)
    initials = Initial.objects.filter(slip__item__book=book, ended_at=None)
    notes = Note.objects.filter(item__book=book)
    reopened = Reopening.objects.filter(item__book=book, agreed_at__isnull=False)
    coded = TextVersion.objects.filter(book=book).exclude(code="")
    live = BookSlip.objects.filter(book=book, lapsed_at=None).first()
    return State(
        standings={
            (item, stage): standing
            for item, stage, standing in stages.values_list(
                "item__key", "stage", "standing"
            )
        },
        initials=frozenset(
            initials.values_list(
                "slip__item__key", "slip__stage", "facet", "person__initials"
            )
        ),
        notes={
            key: (item, stage, state)
            for key, item, stage, state in notes.values_list(
                "key", "item__key", "stage", "state"
            )
        },
        flags=frozenset(flags.values_list("item__key", flat=True)),
        pages={
            item.key: "set aside" if item.set_aside else item.label
            for item in Item.objects.filter(book=book)
        },
        asked=frozenset(
            (keys[pk], slate.stage.value, line.facet.value)
            for pk, slate in slates_of(book).items()
            if slate.standing is not Standing.SHUT
            for line in slate.missing()
        ),
        seen=frozenset(_read_early(book)),
        reading=bool(readings_on(book)),
        ledger=frozenset(
            [f"format {pk}" for pk in formats.values_list("pk", flat=True)]
            + [f"reopening {pk}" for pk in reopened.values_list("pk", flat=True)]
            + [f"text {number}" for number in coded.values_list("number", flat=True)]
        ),
        book_slip=live.key if live else "",
    )
