"""Reading the continuity sheet: values, odd ones out, and the strip of crops."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_for, roles_of
from board.continuity.models import Thing, ThingPlace, Value
from board.continuity.rules import bounds, odd_ones, usual
from board.errors import BoardError, NotFound
from board.permits import Act, require
from board.repro.measuring import MeanColour, from_median, mean_colour
from board.repro.sheets import Rect
from board.revisions.models import Revision
from board.revisions.queries import Picture, currents, is_laid, picture_of


@dataclass(frozen=True)
class Cell:
    """A thing on one item."""

    item: Item
    value: str
    explained: str
    odd: bool

    @property
    def wants_word(self) -> bool:
        return self.odd and not self.explained


@dataclass(frozen=True)
class Row:
    """A thing through the whole book."""

    thing: Thing
    usual: str
    cells: list[Cell]

    @property
    def unexplained(self) -> list[Cell]:
        return [cell for cell in self.cells if cell.wants_word]


@dataclass(frozen=True)
class Odd:
    """One odd one out, as the book slip names it."""

    thing: str
    item: Item
    value: str
    usual: str


@dataclass(frozen=True)
class Crop:
    """A thing as it is painted on one item; lengths in millimetres of the sheet."""

    item: Item
    picture: Picture
    view: tuple[float, float, float, float]
    whole: tuple[float, float, float, float]
    outline: str
    colour: MeanColour | None
    apart: float | None = None


def thing_for(person: Person, key: str, act: Act = Act.LOOK) -> Thing:
    """The thing: 404 unless credited on its book, 403 when not allowed."""
    rows = Thing.objects.select_related("book")
    found = rows.filter(key=key, book__in=books_for(person)).first()
    if found is None:
        raise NotFound
    require(act, roles_of(person, found.book))
    return found


def items_followed(book: Book) -> list[Item]:
    """The items a thing may be followed on, in page order."""
    items = list(book.items.filter(set_aside=False).order_by("position"))
    for item in items:
        item.book = book
    return items


def rows_of(book: Book, things: Iterable[Thing] | None = None) -> list[Row]:
    """The continuity sheet, in a fixed number of queries."""
    items = items_followed(book)
    things = list(book.things.order_by("pk") if things is None else things)
    values: dict[int, dict[int, Value]] = {thing.pk: {} for thing in things}
    for value in Value.objects.filter(thing__in=things):
        values[value.thing_id][value.item_id] = value
    return [_row(thing, items, values[thing.pk]) for thing in things]


def _row(thing: Thing, items: list[Item], values: dict[int, Value]) -> Row:
    said = {item: value.value for item, value in values.items()}
    odd = set(odd_ones(said)) if thing.steady else set()
    cells = [
        Cell(
            item=item,
            value=said.get(item.pk, ""),
            explained=values[item.pk].explained if item.pk in values else "",
            odd=item.pk in odd,
        )
        for item in items
    ]
    return Row(thing, usual(said) if thing.steady else "", cells)


def unexplained(book: Book) -> list[Odd]:
    """Odd ones out without a word of explanation: the book slip waits for them."""
    return [
        Odd(row.thing.name, cell.item, cell.value, row.usual)
        for row in rows_of(book)
        for cell in row.unexplained
    ]


def strip_of(thing: Thing, person: Person) -> list[Crop]:
    """The thing's marked places on current pictures, side by side, measured."""
    up = currents(thing.book)
    places = thing.places.select_related("item__book").order_by("item__position")
    crops = []
    for place in places:
        crop = _crop(place, up.get(place.item_id), person)
        if crop:
            crops.append(crop)
    return _compared(crops)


def _crop(place: ThingPlace, revision: Revision | None, person: Person) -> Crop | None:
    if revision is None or not is_laid(revision):
        return None
    revision.item = place.item
    picture = picture_of(revision, person)
    if picture is None:
        return None
    left, top, right, bottom = bounds(place.points)
    wide, high, rect = place.item.width_mm, place.item.height_mm, picture.rect
    return Crop(
        item=place.item,
        picture=picture,
        view=(left * wide, top * high, (right - left) * wide, (bottom - top) * high),
        whole=(rect.x * wide, rect.y * high, rect.width * wide, rect.height * high),
        outline=_outline(place.points, wide, high),
        colour=_colour(revision, place.points, rect),
    )


def _outline(points: Sequence[Sequence[float]], wide: float, high: float) -> str:
    """A loop as SVG draws it; a box is its crop and needs none."""
    if len(points) == 2:
        return ""
    return " ".join(f"{x * wide:.2f},{y * high:.2f}" for x, y in points)


def _colour(
    revision: Revision, points: Sequence[Sequence[float]], rect: Rect
) -> MeanColour | None:
    inside = tuple(
        ((x - rect.x) / rect.width, (y - rect.y) / rect.height) for x, y in points
    )
    try:
        return mean_colour(revision.picture, inside)
    except BoardError:
        return None


def _compared(crops: Sequence[Crop]) -> list[Crop]:
    measured = [crop.colour.lab for crop in crops if crop.colour]
    apart = iter(from_median(measured))
    return [replace(crop, apart=next(apart)) if crop.colour else crop for crop in crops]


def linked_with(item: Item) -> dict[int, list[str]]:
    """Items that a steady thing links with this one, by row, and which things."""
    mine = Value.objects.filter(item=item, thing__steady=True).exclude(value="")
    others = Value.objects.filter(thing__in=mine.values("thing"), item__set_aside=False)
    found: dict[int, list[str]] = {}
    rows = others.exclude(item=item).exclude(value="").order_by("thing")
    for other, name in rows.values_list("item_id", "thing__name"):
        found.setdefault(other, []).append(name)
    return found
