"""Which pictures are worth searching for a source, what was found, and what is left."""

from collections.abc import Sequence
from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book
from board.clippings.models import Clipping, OfferedUse, Search, Use
from board.clippings.queries import currents_of, lies_on, photo_address
from board.clippings.rules import box_of, outline, overlap
from board.revisions.models import Revision
from board.revisions.queries import Picture, called, is_laid, picture_of, sees_folder

SAME = 0.3  # of the smaller box: then the place is known
LEAST_WINDOW = 0.12
Boxed = tuple[float, float, float, float]


def worth_searching(book: Book) -> list[Revision]:
    """Every laid picture of the book that was not put away; current ones first."""
    rows = Revision.objects.filter(
        item__book=book, item__set_aside=False, put_away_at=None
    )
    found = [
        one for one in rows.select_related("item__book").order_by("-pk") if is_laid(one)
    ]
    up = {one.pk for one in currents_of({row.item for row in found}).values()}
    return sorted(found, key=lambda one: one.pk not in up)


def lies_there_already(
    source: Clipping, revision: Revision, points: Sequence[Sequence[float]]
) -> bool:
    """Whether a use of the source on this picture covers the place."""
    uses = Use.objects.filter(clipping=source, item=revision.item, taken_off_at=None)
    found = box_of(outline("loop", points))
    return any(
        use.mark
        and lies_on(use, revision)
        and overlap(found, box_of(outline(use.mark, use.points))) >= SAME
        for use in uses.select_related("first_shown", "gone_from")
    )


@dataclass(frozen=True)
class Window:
    """A piece of a picture as a page draws it: SVG view box, and the outline in it."""

    address: str
    size: tuple[float, float]
    view: str
    outline: str


@dataclass(frozen=True)
class Offer:
    """A place the search thinks it found, beside the piece it found there."""

    offered: OfferedUse
    called: str
    in_folder: bool
    art: Window | None
    piece: Window | None

    @property
    def percent(self) -> int:
        return round(100 * self.offered.likeness)


def offers_shown(book: Book, person: Person) -> list[Offer]:
    """Unanswered places on current pictures and on those of a folder one may see."""
    rows = OfferedUse.objects.filter(clipping__book=book, answered_at=None)
    if not sees_folder(person, book):
        rows = rows.filter(revision__number__isnull=False)
    found = list(
        rows.select_related("clipping__book", "revision__item__book", "photo").order_by(
            "revision__item__position", "-likeness"
        )
    )
    up = {one.pk for one in currents_of({row.revision.item for row in found}).values()}
    return [
        _shown(row, person)
        for row in found
        if row.revision.pk in up
        or (not row.revision.is_up and row.revision.put_away_at is None)
    ]


def _shown(row: OfferedUse, person: Person) -> Offer:
    picture = picture_of(row.revision, person)
    return Offer(
        offered=row,
        called=called(row.revision),
        in_folder=not row.revision.is_up,
        art=_on_art(row, picture) if picture else None,
        piece=_on_photo(row, person),
    )


def _on_art(row: OfferedUse, picture: Picture) -> Window:
    item, rect = row.revision.item, picture.rect
    size = (item.width_mm * rect.width, item.height_mm * rect.height)
    points = [
        ((x - rect.x) / rect.width * size[0], (y - rect.y) / rect.height * size[1])
        for x, y in row.points
    ]
    return _window(picture.medium, size, points)


def _on_photo(row: OfferedUse, person: Person) -> Window | None:
    photo = row.photo
    if photo is None or not row.on_photo:
        return None
    size = (float(photo.width), float(photo.height))
    points = [(x * size[0], y * size[1]) for x, y in row.on_photo]
    photo.clipping = row.clipping
    return _window(photo_address(photo, person), size, points)


def _window(
    address: str, size: tuple[float, float], points: Sequence[tuple[float, float]]
) -> Window:
    """A square-ish window around the outline with some of its neighbourhood."""
    left, top, right, bottom = box_of(points)
    side = max(1.5 * (right - left), 1.5 * (bottom - top), LEAST_WINDOW * max(size))
    x, y = (left + right - side) / 2, (top + bottom - side) / 2
    drawn = " ".join(f"{across:.2f},{down:.2f}" for across, down in points)
    return Window(address, size, f"{x:.2f} {y:.2f} {side:.2f} {side:.2f}", drawn)


@dataclass(frozen=True)
class Searched:
    """How far the search through a book is."""

    done: int
    waiting: int
    failed: int


def searched(book: Book) -> Searched:
    """Count the searches of a book by how they stand."""
    rows = Search.objects.filter(revision__item__book=book).values_list(
        "work", flat=True
    )
    states = list(rows)
    done, failed = (states.count(word) for word in ("done", "failed"))
    return Searched(done, len(states) - done - failed, failed)
