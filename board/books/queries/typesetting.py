"""Words held against their type boxes, in the book's face and size."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from board.books.models import Book, Box, Item, Typeface
from board.books.rules.typesetting import Face, Fit, Setting, fitted
from board.repro.typefaces import stand_in


@dataclass(frozen=True)
class Fitted:
    """How an item's words sit in its type boxes before and after a change."""

    before: Fit
    after: Fit
    boxes: int

    @property
    def says(self) -> str:
        """Lines and millimetres, in a sentence."""
        now, lines = self.after, self.after.lines
        told = f"{lines} line{'' if lines == 1 else 's'}, {now.height_mm:.0f} mm high"
        box = f"a box of {now.box_width_mm:.0f} x {now.box_mm:.0f} mm"
        if now.holds:
            return f"Fits: {told} in {box}; it was {self.before.lines}."
        if now.widest_mm > now.box_width_mm:
            wide = now.widest_mm - now.box_width_mm
            return f"Does not fit: a word runs {wide:.1f} mm past {box}."
        return f"Does not fit: {told}, {now.over_mm:.1f} mm too high for {box}."


def setting_of(book: Book) -> Setting:
    """The book's face, size and leading; a stand-in face until one is sent."""
    row = Typeface.objects.filter(book=book).first()
    if row is None:
        found = stand_in()
        face = Face(found.name, found.widths, found.usual)
    else:
        face = Face(row.name, row.widths, row.usual_width)
    return Setting(face, book.type_pt, book.leading_pt)


def fits(
    book: Book, items: Iterable[Item], words: Mapping[str, tuple[str, str]]
) -> dict[str, Fitted | None]:
    """Each item's words (before, after) in its type boxes; None without a box.

    Several boxes on one sheet are taken as one column: the narrowest width, the heights
    added (an estimate).
    """
    setting = setting_of(book)
    boxes: dict[int, list[Box]] = {}
    for box in Box.objects.filter(item__in=list(items), sort=Box.Sort.TYPE):
        boxes.setdefault(box.item_id, []).append(box)
    found: dict[str, Fitted | None] = {}
    for item in items:
        laid = boxes.get(item.pk, [])
        if not laid or item.key not in words:
            found[item.key] = None
            continue
        size = (
            min(box.width for box in laid) * item.width_mm,
            sum(box.height for box in laid) * item.height_mm,
        )
        old, new = words[item.key]
        found[item.key] = Fitted(
            fitted(old, size, setting), fitted(new, size, setting), len(laid)
        )
    return found
