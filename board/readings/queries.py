"""What would be read now, and which readings were held on exactly that."""

from collections.abc import Sequence
from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Box, Item
from board.books.queries import newest_texts
from board.books.rules.typesetting import shared
from board.readings.models import Reading
from board.readings.rules import Shown, list_hash
from board.revisions.queries import Picture, currents, picture_of, sheet_of

MM_A_POINT = 25.4 / 72


def shown_now(book: Book) -> list[Shown]:
    """Each item's current picture and text version, in page order."""
    up, texts = currents(book), newest_texts(book)
    found = []
    for item in book.items.filter(set_aside=False).order_by("position"):
        revision, text = up.get(item.pk), texts.get(item.key)
        if revision is not None:
            number = text.text.number if text else 0
            found.append(
                Shown(item.key, item.label, revision.stage, revision.sha256, number)
            )
    return found


def readings_of(book: Book) -> list[Reading]:
    """Readings, newest first."""
    return list(book.readings.select_related("by").order_by("-ended_at", "-pk"))


def readings_on(book: Book, shown: Sequence[Shown] | None = None) -> list[Reading]:
    """Readings held on exactly these pictures and words (on those of now if none)."""
    named = list_hash(shown_now(book) if shown is None else shown)
    return [one for one in readings_of(book) if one.list_hash == named]


@dataclass(frozen=True)
class Set:
    """Words in their type box, in millimetres of the sheet."""

    words: str
    x: float
    y: float
    width: float
    size_mm: float
    leading: float


@dataclass(frozen=True)
class Opening:
    """What a reader sees between two page turns; lengths in millimetres."""

    item: Item
    picture: Picture | None
    width: float
    height: float
    around: float
    words: str
    set: tuple[Set, ...]

    @property
    def laid_width(self) -> float:
        """The laid picture reaches past the trim; a reader sees the trim alone."""
        return self.width + 2 * self.around

    @property
    def laid_height(self) -> float:
        return self.height + 2 * self.around


def openings_of(book: Book, person: Person) -> list[Opening]:
    """The book as its reader meets it, in a number of queries that does not grow."""
    up, texts = currents(book), newest_texts(book)
    items = book.items.filter(set_aside=False).prefetch_related("boxes")
    found = []
    for item in items.order_by("position"):
        revision = up.get(item.pk)
        if revision is not None:
            item.book = revision.item.book = book
            revision.item = item
            text = texts.get(item.key)
            words = text.words if text else ""
            found.append(_opening(item, picture_of(revision, person), words))
    return found


def _opening(item: Item, picture: Picture | None, words: str) -> Opening:
    sheet = sheet_of(item)
    boxes = [box for box in item.boxes.all() if box.sort == Box.Sort.TYPE]
    book = item.book
    parts = zip(boxes, shared(words, len(boxes)), strict=True)
    return Opening(
        item,
        picture,
        sheet.width_mm,
        sheet.height_mm,
        sheet.around_mm,
        words,
        tuple(
            Set(
                part,
                box.x * sheet.width_mm,
                box.y * sheet.height_mm,
                box.width * sheet.width_mm,
                book.type_pt * MM_A_POINT,
                book.leading_pt / book.type_pt,
            )
            for box, part in parts
            if part
        ),
    )
