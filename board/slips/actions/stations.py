"""The stations of a book are set; every item is asked again what it is missing."""

from dataclasses import asdict

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.actions.formats import StationsDraft, write_stations
from board.books.models import Book, ItemStage
from board.books.queries import items_of_book, roles_of
from board.books.rules import Standing
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, Stale, WrongMove
from board.permits import Act, require
from board.slips.actions.falling import late_open
from board.slips.actions.locked import Locked, event_of, lock, lock_book
from board.slips.rules.moves import DONE, Move, after
from board.slips.rules.stations import why_not_stations


@transaction.atomic
def set_stations(
    *, by: Person, book: Book, draft: StationsDraft, version: int, event: str
) -> Book:
    """Say who must look at what (M, t, -); no initial lapses by it.

    An item that misses a must line now is hung again; one that misses none any more
    comes OK.
    """
    book = lock_book(book)
    require(Act.SET_STATIONS, roles_of(by, book))
    if happened_already(book.key, event_of(by, event)):
        return book
    before = StationsDraft.of(book)
    if book.version != version:
        raise Stale(now={name: str(said) for name, said in asdict(before).items()})
    _stop(book, before, draft)
    write_stations(book, draft)
    told = {
        name: [str(old), str(new)]
        for (name, old), new in zip(
            asdict(before).items(), asdict(draft).values(), strict=True
        )
        if old != new
    }
    page = Page(book.key, details=told | {"words": ", ".join(told)})
    who = hand(by, book, Act.SET_STATIONS)
    enter(Happened.STATIONS_CHANGED, page, by=who, event=event_of(by, event))
    for place, item in enumerate(items_of_book(book)):
        _ask_again(lock(item, by=by, event=f"{event[:36]}-{place}"))
    return book


def _stop(book: Book, before: StationsDraft, draft: StationsDraft) -> None:
    if ItemStage.objects.filter(
        item__book=book, standing=Standing.HANDED_OVER
    ).exists():
        raise WrongMove("The book is handed over; it must be recalled first.")
    if draft == before:
        raise NotUnderstood("The stations are what they were; change one first.")
    told = []
    if draft.preset not in Book.Preset.values:
        told.append("A book is a house's or a small studio's.")
    else:
        studio = draft.preset == Book.Preset.STUDIO
        told += why_not_stations(draft.stations, studio=studio)
    if told:
        raise NotUnderstood(" ".join(told), *told)


def _ask_again(locked: Locked) -> None:
    """Let the item's standing follow the lines that are asked now."""
    if locked.row is None:
        return
    short = locked.standing in DONE and locked.slate().missing()
    if short and after(locked.standing, Move.LOSE_A_LINE):
        locked.move(Move.LOSE_A_LINE)
        late_open(locked)
    locked.settle()
