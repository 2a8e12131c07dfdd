"""The daybook read from its first entry: the same standing and the same initials."""

from dataclasses import dataclass, field

from board.books.models import Book, ItemStage
from board.books.rules import Standing
from board.daybook.queries import entries_of
from board.daybook.rules import Happened
from board.slips.models import Initial

H = Happened
GIVEN = frozenset({H.INITIALLED, H.INITIAL_CARRIED})


@dataclass
class Replayed:
    """Standings by item and stage, and keys of live initials, as entries tell them."""

    standings: dict[tuple[str, str], str] = field(default_factory=dict)
    initials: set[str] = field(default_factory=set)


def replay(book: Book) -> Replayed:
    """Fold the book's entries, oldest first."""
    found = Replayed()
    for entry in entries_of(book.key).iterator(chunk_size=500):
        kind = Happened(entry.kind)
        if kind is H.STANDING_MOVED:
            found.standings[entry.item_key, entry.stage] = entry.details["to"]
        elif kind in GIVEN:
            found.initials.add(entry.about_key)
        elif kind is H.INITIAL_LAPSED:
            found.initials.discard(entry.about_key)
    return found


def differs(book: Book) -> list[str]:
    """Where the tables say something else than the record; empty when they agree."""
    told = replay(book)
    rows = ItemStage.objects.filter(item__book=book).values_list(
        "item__key", "item__label", "stage", "standing"
    )
    found = [
        f"{label}, {stage}: the record says {said}, the board {standing}"
        for key, label, stage, standing in rows
        if (said := told.standings.get((key, stage), Standing.SHUT.value)) != standing
    ]
    live = set(
        Initial.objects.filter(slip__item__book=book, ended_at=None).values_list(
            "key", flat=True
        )
    )
    found += [
        f"initial {key} is live on the board only" for key in live - told.initials
    ]
    found += [
        f"initial {key} is live in the record only" for key in told.initials - live
    ]
    return found
