"""What lies on a person's desk, sorted into one pile a book."""

from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_with_sends
from board.daybook.actions import this_moment
from board.slips.queries.due import today_of
from board.slips.queries.waiting import Waiting, waiting_for
from board.slips.rules.due import due_told


@dataclass(frozen=True)
class Line:
    """One item that waits, with everything it waits for."""

    item: Item
    stage: str
    reasons: tuple[str, ...]
    since: datetime | None
    due: str = ""
    letter: bool = False


@dataclass(frozen=True)
class Pile:
    """What waits on one book."""

    book: Book
    lines: tuple[Line, ...]
    sends: bool = False

    @property
    def letters(self) -> bool:
        """Whether its reader is told by letters, one an item."""
        return any(line.letter for line in self.lines)


def desk_of(person: Person) -> list[Pile]:
    """Every book of the person's; those where something waits first."""
    today = today_of(person, this_moment())
    waiting: dict[int, list[Waiting]] = {}
    books = list(books_with_sends(person))
    for thing in waiting_for(person, books):
        waiting.setdefault(thing.book.pk, []).append(thing)
    piles = [
        Pile(book, tuple(_lines(waiting.get(book.pk, []), today)), sends=_sends(book))
        for book in books
    ]
    return sorted(piles, key=lambda pile: not pile.lines)


def _sends(book: Book) -> bool:
    return bool(book.__dict__["sends"])  # what the query wrote beside the columns


def _lines(things: list[Waiting], today: date) -> list[Line]:
    lines = []
    for _, group in groupby(things, key=lambda thing: thing.item.pk):
        same = list(group)
        first = same[0]
        reasons = tuple(thing.why for thing in same)
        due = min((thing.due for thing in same if thing.due), default=None)
        words = due_told(due, today) if due else ""
        lines.append(
            Line(first.item, first.stage, reasons, first.since, words, first.letter)
        )
    return lines


def told(piles: list[Pile]) -> str:
    """How much waits, in a sentence."""
    items = sum(len(pile.lines) for pile in piles)
    books = sum(bool(pile.lines) for pile in piles)
    if not items:
        return "Nothing waits for you." if piles else ""
    thing = "One item waits" if items == 1 else f"{items} items wait"
    where = "" if books == 1 else f", on {books} books"
    return f"{thing} for you{where}."
