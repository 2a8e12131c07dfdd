"""Reading sources: which lie on which picture now, how large, and what is not cleared."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_for, roles_of
from board.books.rules import STAGES, Stage
from board.clippings.models import (
    Clipping,
    ClippingPhoto,
    GrantDocument,
    OfferedUse,
    Use,
)
from board.clippings.rules import (
    CLEARED,
    Bled,
    Clearance,
    Uncleared,
    area_cm2,
    on_one_place,
    outline,
    size_mm,
)
from board.errors import NotFound
from board.permits import Act, may, require
from board.repro.grants import grant_original, grant_tiles
from board.repro.unlaid import GLIMPSE, glimpse_key
from board.revisions.models import Revision
from board.revisions.queries import scope_of, sees_folder


def source_for(person: Person, key: str, act: Act = Act.READ_SOURCES) -> Clipping:
    """The source: 404 unless credited on its book, 403 when not allowed."""
    rows = Clipping.objects.select_related("book").filter(
        key=key, book__in=books_for(person)
    )
    found = rows.first()
    if found is None:
        raise NotFound
    require(act, roles_of(person, found.book))
    return found


def use_for(person: Person, key: str, act: Act = Act.ENTER_SOURCE) -> Use:
    """A use that still stands, under the same rules as its source."""
    rows = Use.objects.select_related("clipping__book", "item__book", "first_shown")
    found = rows.filter(key=key, clipping__book__in=books_for(person)).first()
    if found is None:
        raise NotFound
    require(act, roles_of(person, found.item.book))
    if not _may_see(found, folder=sees_folder(person, found.item.book)):
        raise NotFound
    return found


def offer_for(person: Person, key: str) -> OfferedUse:
    """A place that the search offered."""
    rows = OfferedUse.objects.select_related("clipping__book", "revision__item__book")
    found = rows.filter(key=key, clipping__book__in=books_for(person)).first()
    if found is None:
        raise NotFound
    require(Act.ENTER_SOURCE, roles_of(person, found.clipping.book))
    if not (found.revision.is_up or sees_folder(person, found.clipping.book)):
        raise NotFound
    return found


def sources_of(book: Book) -> QuerySet[Clipping]:
    """The book's sources by their codes."""
    return book.clippings.order_by("code")


def _place(revision: Revision) -> tuple[int, float]:
    number = float("inf") if revision.number is None else float(revision.number)
    return STAGES.index(Stage(revision.stage)), number


def _reached(mark: Revision, on: Revision | None) -> bool:
    """Whether the picture `on` is the marked revision or a later one."""
    if on is None:
        return False
    return mark.pk == on.pk or (mark.is_up and _place(mark) <= _place(on))


def lies_on(use: Use, on: Revision | None) -> bool:
    """Whether the source is on this picture; a use without a beginning is on all."""
    begun = use.first_shown is None or _reached(use.first_shown, on)
    return begun and not (use.gone_from is not None and _reached(use.gone_from, on))


def currents_of(items: Iterable[Item]) -> dict[int, Revision]:
    """Each item's latest picture that is up, in one query."""
    rows = Revision.objects.filter(item__in=list(items), number__isnull=False)
    found: dict[int, Revision] = {}
    for row in rows.only("item_id", "stage", "number", "sha256", "picture", "work"):
        known = found.get(row.item_id)
        if known is None or _place(row) >= _place(known):
            found[row.item_id] = row
    return found


def _standing_uses(items: Iterable[Item]) -> QuerySet[Use]:
    rows = Use.objects.filter(item__in=list(items), taken_off_at=None)
    return rows.select_related("clipping", "first_shown", "gone_from", "item__book")


def uses_now(items: Iterable[Item]) -> dict[int, list[Use]]:
    """Uses on the items' current pictures, by item; two queries."""
    items = list(items)
    return _lying(items, _standing_uses(items)) if items else {}


def _lying(items: list[Item], uses: Iterable[Use]) -> dict[int, list[Use]]:
    """Those of the uses that lie on the items' current pictures."""
    uses = list(uses)
    up = currents_of(items) if uses else {}
    found: dict[int, list[Use]] = defaultdict(list)
    for use in uses:
        if lies_on(use, up.get(use.item_id)):
            found[use.item_id].append(use)
    return found


def source_list(item: Item, on: Revision | None = None) -> tuple[str, ...]:
    """Keys of the sources on a picture of the item (on the current one if none)."""
    on = on or currents_of([item]).get(item.pk)
    keys = {use.clipping.key for use in _standing_uses([item]) if lies_on(use, on)}
    return tuple(sorted(keys))


def list_digest(keys: Sequence[str]) -> str:
    """Name a source list by one hash (SHA-256), to say later that it is the same."""
    return hashlib.sha256("\n".join(keys).encode()).hexdigest()


def uncleared(items: Iterable[Item]) -> dict[int, tuple[Uncleared, ...]]:
    """What is neither granted nor not needed on each current picture; two queries."""
    items = list(items)
    if not items:
        return {}
    asking = _standing_uses(items).exclude(clipping__clearance__in=CLEARED)
    return {
        item: tuple(
            {
                use.clipping_id: Uncleared(
                    use.clipping.code,
                    use.clipping.clearance,
                    use.clipping.clearance_since,
                )
                for use in uses
            }.values()
        )
        for item, uses in _lying(items, asking).items()
    }


def items_using(clipping: Clipping) -> list[Item]:
    """The items whose current picture shows the source, in page order."""
    rows = Item.objects.filter(uses__clipping=clipping, uses__taken_off_at=None)
    items = list(rows.select_related("book").distinct().order_by("position"))
    now = uses_now(items)
    keep = {
        item
        for item, uses in now.items()
        if any(use.clipping_id == clipping.pk for use in uses)
    }
    return [item for item in items if item.pk in keep]


@dataclass(frozen=True)
class Area:
    """How much of one item a source covers."""

    item: Item
    cm2: float
    share: float
    uses: list[Use]
    unplaced: int

    @property
    def percent(self) -> float:
        return 100 * self.share


@dataclass(frozen=True)
class Piece:
    """One marked place as it is printed: its area, and the box around it in mm."""

    item: Item
    cm2: float
    wide_mm: float
    high_mm: float

    @property
    def mm2(self) -> float:
        return self.cm2 * 100


@dataclass(frozen=True)
class Told:
    """A source with where it lies now."""

    source: Clipping
    areas: list[Area]

    @property
    def cm2(self) -> float:
        return sum(area.cm2 for area in self.areas)

    @property
    def pieces(self) -> list[Piece]:
        """Every marked place, the largest first."""
        found = [
            Piece(area.item, use_area(use, area.item), *_size(use, area.item))
            for area in self.areas
            for use in area.uses
            if use.mark
        ]
        return sorted(found, key=lambda piece: -piece.cm2)

    @property
    def largest(self) -> float:
        """The largest single printed area, in cm2."""
        return self.pieces[0].cm2 if self.pieces else 0.0

    @property
    def largest_piece(self) -> Piece | None:
        return self.pieces[0] if self.pieces else None

    @property
    def unplaced(self) -> int:
        return sum(area.unplaced for area in self.areas)

    @property
    def is_cleared(self) -> bool:
        return Clearance(self.source.clearance) in CLEARED


def bled_of(item: Item) -> Bled:
    return Bled(item.width_mm, item.height_mm, item.book.bleed_mm)


def use_area(use: Use, item: Item) -> float:
    """The printed area of one use in cm2; nothing when its place is not marked."""
    return area_cm2(use.mark, use.points, bled_of(item))


def _size(use: Use, item: Item) -> tuple[float, float]:
    return size_mm(use.mark, use.points, bled_of(item))


def told_of_book(book: Book, sources: Iterable[Clipping] | None = None) -> list[Told]:
    """Every source with its areas on current pictures, in a fixed number of queries."""
    sources = list(sources_of(book) if sources is None else sources)
    items = list(book.items.filter(set_aside=False).order_by("position"))
    for item in items:
        item.book = book
    now = uses_now(items)
    by_source: dict[int, list[Area]] = defaultdict(list)
    for item in items:
        mine: dict[int, list[Use]] = defaultdict(list)
        for use in now.get(item.pk, []):
            mine[use.clipping_id].append(use)
        for source, uses in mine.items():
            by_source[source].append(_area(item, uses))
    return [Told(source, by_source.get(source.pk, [])) for source in sources]


def _area(item: Item, uses: list[Use]) -> Area:
    cm2 = sum(use_area(use, item) for use in uses)
    unplaced = sum(not use.mark for use in uses)
    return Area(item, cm2, cm2 / bled_of(item).area_cm2, uses, unplaced)


def layered(book: Book) -> list[tuple[Item, str, str]]:
    """Pairs of sources on one place: paper over paper, each counted whole."""
    items = list(book.items.filter(set_aside=False).order_by("position"))
    now = uses_now(items)
    found = []
    for item in items:
        marked = [
            (use.clipping.code, outline(use.mark, use.points))
            for use in now.get(item.pk, [])
        ]
        pairs = dict.fromkeys(on_one_place(marked))
        found += [(item, one, other) for one, other in pairs]
    return found


def _may_see(use: Use, *, folder: bool) -> bool:
    return folder or use.first_shown is None or use.first_shown.is_up


def uses_of(clipping: Clipping, person: Person) -> list[tuple[Use, bool]]:
    """All uses that still stand, and whether each lies on the current picture.

    What is planned for a picture in the folder is seen by those who see the folder.
    """
    folder = sees_folder(person, clipping.book)
    rows = clipping.uses.filter(taken_off_at=None).order_by("item__position", "pk")
    uses = list(rows.select_related("item__book", "first_shown", "gone_from"))
    up = currents_of([use.item for use in uses])
    return [
        (use, lies_on(use, up.get(use.item_id)))
        for use in uses
        if _may_see(use, folder=folder)
    ]


def photo_address(photo: ClippingPhoto, person: Person) -> str:
    """Where this person sees the photograph; runs out."""
    scope = scope_of(photo.clipping.book, person)
    return f"{grant_tiles(glimpse_key(photo.key), scope)}/{GLIMPSE}"


def holds_original(sha256: str) -> bool:
    """Whether a photograph or a grant's document of a source is kept as these bytes."""
    return (
        ClippingPhoto.objects.filter(sha256=sha256).exists()
        or GrantDocument.objects.filter(sha256=sha256).exists()
    )


def documents_of(clipping: Clipping, person: Person) -> list[tuple[GrantDocument, str]]:
    """A grant's documents with this person's addresses; rights alone sees any."""
    if not may(Act.JUDGE_SOURCE, roles_of(person, clipping.book)):
        return []
    scope = scope_of(clipping.book, person)
    return [
        (one, grant_original(one.sha256, one.filename, scope))
        for one in clipping.documents.select_related("by")
    ]
