"""What an event can take away, as it is at one moment; and a paper to judge."""

from dataclasses import dataclass, field

from accounts.models import Person
from board.books.models import Book, ItemStage
from board.books.rules import Standing
from board.clippings.models import Clipping, Use
from board.slips.models import Hold, Initial
from tests import make


@dataclass(frozen=True)
class Snapshot:
    """Live initials (key, item, stage, facet), latest open stages, standings, holds."""

    live: frozenset[tuple[str, int, str, str]] = frozenset()
    stages: dict[int, str] = field(default_factory=dict)
    standings: dict[int, str] = field(default_factory=dict)
    held: frozenset[int] = frozenset()


def snapshot(book: Book) -> Snapshot:
    """What an event can take away, as it is now."""
    rows = Initial.objects.filter(slip__item__book=book, ended_at=None)
    stages_of: dict[int, str] = {}
    standings: dict[int, str] = {}
    opened = ItemStage.objects.filter(item__book=book, waived="").exclude(
        standing=Standing.SHUT
    )
    for row in opened.order_by("order"):
        stages_of[row.item_id], standings[row.item_id] = row.stage, row.standing
    held = Hold.objects.filter(item__book=book, released_at=None)
    return Snapshot(
        frozenset(rows.values_list("key", "slip__item_id", "slip__stage", "facet")),
        stages_of,
        standings,
        frozenset(held.values_list("item_id", flat=True)),
    )


def make_source(book: Book, by: Person) -> Clipping:
    """One paper that lies on the book's second item from the first picture on."""
    paper = Clipping.objects.create(
        book=book,
        code="C01",
        what="A tide table.",
        clearance_since=make.NOW,
        entered_by=by,
        entered_at=make.NOW,
    )
    Use.objects.create(
        clipping=paper,
        item=book.items.order_by("position")[1],
        how="by hand",
        by=by,
        at=make.NOW,
        event=make.event(),
    )
    return paper
