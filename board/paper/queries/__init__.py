"""What is printed of an item for one reader: its open lines, and frozen note sheets."""

from collections.abc import Sequence
from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_of, text_of
from board.books.rules import Stage
from board.paper.rules import Art, Box
from board.revisions.models import Revision
from board.revisions.queries import called, current, sent_up
from board.tissue.models import Note, NoteSheet
from board.tissue.queries import NoteSeen, notes_for, sheet_for
from board.tissue.queries import sheet_of as tissue_sheet
from board.tissue.rules import SHEET_ORDER, region_of


@dataclass(frozen=True)
class Line:
    """One note as it is printed; points on the sheet."""

    label: str
    sort: str
    words: str
    mark: str
    points: Sequence[Sequence[float]]
    answer: str = ""

    @property
    def placed(self) -> bool:
        return bool(self.mark and self.points)


@dataclass(frozen=True)
class Printed:
    """An item's lines over one revision."""

    item: Item
    head: str
    said: str
    revision: Revision | None
    lines: tuple[Line, ...]
    words: str = ""

    @property
    def code(self) -> str:
        """The revision's short code, the same on every screen and print."""
        if self.revision is None:
            return ""
        return f"{self.revision.sha256[:4]} {self.revision.sha256[4:8]}"

    @property
    def of_revision(self) -> str:
        """What the lines lie over; a superseded revision says so in print too."""
        if self.revision is None:
            return "no picture is up"
        newest = current(self.item, self.revision.stage)
        old = newest is not None and newest.pk != self.revision.pk
        return f"{called(self.revision)}, code {self.code}" + (
            " (SUPERSEDED)" if old else ""
        )


def art_of(item: Item) -> Art:
    """The item's art at the size it is painted."""
    book = item.book
    return Art(
        item.width_mm,
        item.height_mm,
        book.bleed_mm,
        percent=book.art_percent,
        double=item.is_double,
    )


def open_lines(person: Person, item: Item) -> Printed:
    """What is open for this reader on the item, and what must be kept."""
    roles = roles_of(person, item.book)
    seen = [
        one
        for one in notes_for(person, item, roles=roles)
        if one.is_open or one.note.state == Note.State.STANDS
    ]
    return Printed(
        item,
        head="Open lines",
        said="",
        revision=_newest(item),
        lines=tuple(_line(one) for one in seen),
        words=_words(item),
    )


def _newest(item: Item) -> Revision | None:
    order = list(Stage)
    up = sent_up(item)
    return max(
        up,
        key=lambda one: (order.index(Stage(one.stage)), one.number or 0),
        default=None,
    )


def _words(item: Item) -> str:
    text = text_of(item)
    return text.words if text else ""


def _line(seen: NoteSeen) -> Line:
    note = seen.note
    return Line(
        label=seen.label,
        sort=note.sort,
        words=seen.words,
        mark="" if note.place_unknown else note.mark,
        points=note.points,
        answer=" ".join(filter(None, (note.answer, note.answer_words))),
    )


def issued_sheet(person: Person, key: str) -> Printed:
    """A note sheet as it was frozen, with the lines this reader may read."""
    sheet = sheet_for(person, key)
    return Printed(
        sheet.item,
        head=f"Note sheet {sheet.number}",
        said=_issued(sheet),
        revision=sheet.revision,
        lines=tuple(
            Line(
                label=f"{sheet.number}.{line.number} {line.initials}",
                sort=line.sort,
                words=line.words,
                mark=line.note.mark if line.points else "",
                points=line.points,
            )
            for line in sheet.lines.all()
        ),
        words=_words(sheet.item),
    )


def _issued(sheet: NoteSheet) -> str:
    by = f", by {sheet.issued_by.name}" if sheet.issued_by else ""
    short = ", short: the lines an OK as corrected lists" if sheet.short else ""
    return f"issued {sheet.issued_at:%-d %B %Y}{by}{short}"


def open_in_book(person: Person, book: Book) -> list[Printed]:
    """The items with something open for this reader, in page order."""
    items = book.items.filter(set_aside=False).select_related("book")
    printed = [open_lines(person, item) for item in items.order_by("position")]
    return [one for one in printed if any(line.sort in ASKED for line in one.lines)]


ASKED = frozenset(SHEET_ORDER) - {"keep", "comment"}


def region_mm(line: Line, item: Item, art: Art) -> Box | None:
    """The box round a line's mark, in millimetres of the tracing's plane."""
    region = region_of(line.mark, line.points, tissue_sheet(item))
    if region is None:
        return None
    x, y = art.at(region.x, region.y)
    far = art.at(region.x + region.width, region.y + region.height)
    return Box(x, y, far[0] - x, far[1] - y)
