"""Laying type and focal boxes on the sheet."""

from dataclasses import asdict, dataclass

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book, Box, Item
from board.books.queries import roles_of
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import OffTheSheet, Stale
from board.permits import Act, require


@dataclass(frozen=True)
class Place:
    """Where a box lies, in fractions of the trimmed sheet."""

    x: float
    y: float
    width: float
    height: float


@transaction.atomic
def place_box(
    item: Item,
    place: Place,
    *,
    by: Person,
    sort: str,
    label: str = "",
    event: str = "",
) -> Box:
    """Lay a type or focal box on the item's sheet."""
    done = happened_already(item.book.key, event)
    if done and done.kind == Happened.BOXES_PLACED:
        return Box.objects.get(key=done.about_key)
    box = Box(item=item, sort=sort, label=label.strip(), **_on_the_sheet(item, place))
    _enter_box(box, "placed", by=by, event=event)
    box.save(force_insert=True)
    return box


@transaction.atomic
def move_box(box: Box, place: Place, *, by: Person, label: str, version: int) -> Box:
    """Move or rename a box, unless somebody was faster."""
    kept = Box.objects.select_for_update().get(pk=box.pk)
    if kept.version != version:
        sides = (kept.x, kept.y, kept.width, kept.height)
        told = ", ".join(f"{side * 100:g}" for side in sides)
        raise Stale(now={"label": kept.label, "left, top, width, height in %": told})
    for name, value in _on_the_sheet(kept.item, place).items():
        setattr(kept, name, value)
    kept.label = label.strip()
    kept.version += 1
    _enter_box(kept, "moved", by=by)
    kept.save()
    return kept


@transaction.atomic
def remove_box(box: Box, *, by: Person) -> None:
    """Take a box off the sheet; the record keeps where it lay."""
    _enter_box(box, "removed", by=by)
    box.delete()


def _on_the_sheet(item: Item, place: Place) -> dict[str, float]:
    """The box's fields, if it has a size and lies within the bled sheet."""
    over_x = item.book.bleed_mm / item.width_mm + 1e-6
    over_y = item.book.bleed_mm / item.height_mm + 1e-6
    fits_x = -over_x <= place.x and place.x + place.width <= 1 + over_x
    fits_y = -over_y <= place.y and place.y + place.height <= 1 + over_y
    if place.width <= 0 or place.height <= 0 or not (fits_x and fits_y):
        raise OffTheSheet("A box needs a size and must lie within the bled sheet.")
    return asdict(place)


def _enter_box(box: Box, what: str, *, by: Person, event: str = "") -> None:
    book = Book.objects.select_for_update().get(pk=box.item.book_id)
    require(Act.PLACE_BOXES, roles_of(by, book))
    place = [round(side, 5) for side in (box.x, box.y, box.width, box.height)]
    details = {"what": what, "sort": box.sort, "label": box.label, "place": place}
    page = Page(book.key, item_key=box.item.key, about_key=box.key, details=details)
    by_whom = hand(by, book, Act.PLACE_BOXES)
    enter(Happened.BOXES_PLACED, page, by=by_whom, event=event)
