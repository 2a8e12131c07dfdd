"""Trim, bleed and extent are written here; `slips` decides what that takes off."""

from collections.abc import Sequence
from dataclasses import dataclass

from board.books.models import Book, Box, Item, ItemStage
from board.books.rules import STAGES, Ends, ItemPlan, Kind, items_of
from board.books.rules.refitting import Refit, Refitted, refitted


@dataclass(frozen=True)
class FormatDraft:
    """A book's format; lengths in millimetres."""

    trim_width_mm: float
    trim_height_mm: float
    bleed_mm: float
    extent: int

    @classmethod
    def of(cls, book: Book) -> "FormatDraft":
        return cls(book.trim_width_mm, book.trim_height_mm, book.bleed_mm, book.extent)

    def told(self) -> dict[str, float]:
        """The four as the record keeps them."""
        return {
            "trim width": self.trim_width_mm,
            "trim height": self.trim_height_mm,
            "bleed": self.bleed_mm,
            "extent": self.extent,
        }


def places_in(book: Book, extent: int) -> list[Refitted[int]]:
    """Where each item of the book comes to lie in a new extent, by its row."""
    rows = book.items.order_by("set_aside", "position")
    there = [(pk, Kind(kind)) for pk, kind in rows.values_list("pk", "kind")]
    return refitted(there, items_of(extent, Ends(book.ends)))


def write_format(book: Book, draft: FormatDraft) -> None:
    """Keep the new lengths; the caller holds the book and moves what lies on it."""
    book.trim_width_mm, book.trim_height_mm = draft.trim_width_mm, draft.trim_height_mm
    book.bleed_mm, book.extent = draft.bleed_mm, draft.extent
    book.version += 1
    book.save()


def write_places(book: Book, places: Sequence[Refitted[int]]) -> None:
    """Give items their pages; new ones begin shut, those without a place are set aside."""
    items = {item.pk: item for item in book.items.all()}
    beyond = 1 + max((item.position for item in items.values()), default=0)
    for item in items.values():  # off the numbers that are given out below
        Item.objects.filter(pk=item.pk).update(position=item.position + beyond)
    for position, one in enumerate(places, start=1):
        if one.name is None and one.plan is not None:
            _new_item(book, one.plan, position)
        elif one.name is not None:
            _place(items[one.name], one.plan, position)


def _place(item: Item, plan: ItemPlan | None, position: int) -> None:
    item.position, item.set_aside = position, plan is None
    if plan is not None:
        item.first_page, item.last_page, item.label = plan.first, plan.last, plan.label
    item.save()


def _new_item(book: Book, plan: ItemPlan, position: int) -> None:
    item = Item.objects.create(
        book=book,
        position=position,
        kind=plan.kind,
        first_page=plan.first,
        last_page=plan.last,
        label=plan.label,
        story=plan.story,
    )
    ItemStage.objects.bulk_create(
        ItemStage(item=item, stage=stage, order=order)
        for order, stage in enumerate(STAGES)
    )


def refit_boxes(book: Book, fit: Refit) -> None:
    """Keep type and focal boxes on their places in the picture, within the sheet."""
    for box in Box.objects.filter(item__book=book).select_related("item"):
        over = (
            book.bleed_mm / (book.trim_width_mm * (2 if box.item.is_double else 1)),
            book.bleed_mm / book.trim_height_mm,
        )
        left, top = fit.place(box.x, box.y)
        right, bottom = fit.place(box.x + box.width, box.y + box.height)
        left, right = _within(left, right, over[0])
        top, bottom = _within(top, bottom, over[1])
        box.x, box.y = round(left, 6), round(top, 6)
        box.width, box.height = round(right - left, 6), round(bottom - top, 6)
        box.version += 1
        box.save()


def _within(low: float, high: float, over: float) -> tuple[float, float]:
    """A side of a box drawn into the bled sheet; never thinner than a hair."""
    low, high = max(low, -over), min(high, 1 + over)
    if high - low >= 0.002:
        return low, high
    return (1 + over - 0.002, 1 + over) if low > 0.5 else (-over, -over + 0.002)


@dataclass(frozen=True)
class StationsDraft:
    """Who must look at what, and how the author and the artist are told."""

    preset: str
    stations: dict[str, list[str]]
    author_approves: bool
    notes_at_once: bool

    @classmethod
    def of(cls, book: Book) -> "StationsDraft":
        return cls(
            book.preset,
            dict(book.stations),
            book.author_approves,
            book.notes_at_once,
        )


def write_stations(book: Book, draft: StationsDraft) -> None:
    """Keep the stations; the caller holds the book and settles every item."""
    book.preset, book.stations = draft.preset, draft.stations
    book.author_approves = draft.author_approves
    book.notes_at_once = draft.notes_at_once
    book.version += 1
    book.save()
