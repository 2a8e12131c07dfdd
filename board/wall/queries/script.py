"""The colour script and the rhythm of a book, as a picture and as a table."""

from collections.abc import Sequence
from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import items_of_book
from board.repro.colours import Colours
from board.revisions.queries import called, currents, small_of
from board.wall.queries.tracks import colours_now, likeness
from board.wall.rules import Swatch, curve, swatches, warmth_word


@dataclass(frozen=True)
class Strip:
    """One item's colours and tones; places in the picture are shares of its height."""

    item: Item
    called: str
    picture: str
    colours: Colours | None
    swatches: tuple[Swatch, ...]
    alike: float | None

    @property
    def tones(self) -> tuple[int, int, int]:
        """Dark, middle and light in whole per cent, which add up to 100."""
        if self.colours is None:
            return (0, 0, 0)
        tones = self.colours.tones
        dark, light = round(tones.dark * 100), round(tones.light * 100)
        return dark, 100 - dark - light, light

    @property
    def warmth(self) -> str:
        return warmth_word(self.colours.tones.warmth) if self.colours else ""


@dataclass(frozen=True)
class Script:
    """The whole book: strips in page order, two curves over them."""

    strips: tuple[Strip, ...]
    lightness: str
    warmth: str

    @property
    def empty(self) -> bool:
        return not any(strip.colours for strip in self.strips)


def script_of(book: Book, person: Person) -> Script:
    """Every item's colours, as its current picture shows them on a screen."""
    items = list(items_of_book(book))
    up = currents(book)
    for item in items:
        item.book = book
    colours = colours_now(items, up)
    strips = []
    for item, found, near in zip(items, colours, likeness(colours), strict=True):
        revision = up.get(item.pk)
        strips.append(
            Strip(
                item,
                called(revision) if revision else "",
                small_of(revision, person, book),
                found,
                swatches([(one.hex, one.area) for one in found.main] if found else []),
                near,
            )
        )
    return Script(
        tuple(strips),
        curve(
            _places([(one.tones.lightness / 100) if one else None for one in colours])
        ),
        curve(
            _places([0.5 + one.tones.warmth / 2 if one else None for one in colours])
        ),
    )


def _places(heights: Sequence[float | None]) -> list[tuple[float, float]]:
    """Where the curve goes: the middle of each strip, and how high."""
    return [
        (number + 0.5, min(max(height, 0.0), 1.0))
        for number, height in enumerate(heights)
        if height is not None
    ]
