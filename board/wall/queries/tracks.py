"""Words and pictures side by side: what each tells, item by item, with flags."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import prefetch_related_objects

from accounts.models import Person
from board.books.models import Book, Box, Item
from board.books.queries import Manuscript, Part, manuscript_of
from board.books.rules import reading_minutes
from board.checks.models import CheckRun
from board.checks.queries import band_share
from board.checks.rules import Level
from board.errors import NotFound
from board.repro.colours import Colours, alike, laid_colours
from board.revisions.models import Revision
from board.revisions.queries import called, currents, is_laid, sheet_of, small_of
from board.wall.rules import SAME_COMPOSITION, SAME_RUN, runs_of

CHECKS = {
    "type contrast": "type on a ground of low contrast",
    "type ground": "type over busy art",
}


@dataclass(frozen=True)
class Row:
    """One item: what the words say, what the picture adds, and what to look at."""

    part: Part
    picture: str
    called: str
    flags: tuple[str, ...]

    @property
    def item(self) -> Item:
        return self.part.item

    @property
    def seconds(self) -> float:
        """Read aloud, looking included."""
        aloud = self.item.book.words_a_minute
        return reading_minutes(self.part.count, 1, words_a_minute=aloud) * 60

    @property
    def turns(self) -> bool:
        """Whether the page turns after this item."""
        pages = self.item.book.extent
        return bool(self.item.first_page) and self.item.last_page < pages


@dataclass(frozen=True)
class Tracks:
    """Every item in page order, with the words they come from."""

    manuscript: Manuscript
    rows: tuple[Row, ...]

    @property
    def flagged(self) -> int:
        return sum(bool(row.flags) for row in self.rows)


def tracks_of(book: Book, person: Person) -> Tracks:
    """Words and pictures of the book, in a number of queries that does not grow."""
    told, up = manuscript_of(book), currents(book)
    items = [part.item for part in told.parts]
    prefetch_related_objects(items, "boxes")
    for item in items:
        item.book = book
    runs = _same_again(items, up)
    warned = _warned([one.pk for one in up.values()])
    rows = []
    for part in told.parts:
        revision = up.get(part.item.pk)
        flags = [*_of_words(part), *_of_places(part.item)]
        if part.item.pk in runs:
            flags.append(f"the same composition {runs[part.item.pk]} times running")
        flags += warned.get(revision.pk, ()) if revision else ()
        small = small_of(revision, person, book)
        name = called(revision) if revision else ""
        rows.append(Row(part, small, name, tuple(flags)))
    return Tracks(told, tuple(rows))


def _of_words(part: Part) -> list[str]:
    if part.item.story and not part.count:
        return ["picture only"]
    return [part.remark] if part.remark else []


def _of_places(item: Item) -> list[str]:
    """Focal boxes that the fold would swallow, as the check has it."""
    if not item.is_double:
        return []
    focal = (box for box in item.boxes.all() if box.sort == Box.Sort.FOCAL)
    return [
        f"{box.label or 'focal box'} in the gutter band"
        for box in focal
        if band_share(item, _place(box)) > 0
    ]


def _place(box: Box) -> dict[str, float]:
    return {"x": box.x, "y": box.y, "width": box.width, "height": box.height}


def colours_now(
    items: Sequence[Item], up: Mapping[int, Revision]
) -> list[Colours | None]:
    """What the current picture of each item is made of; None where none is laid."""
    found: list[Colours | None] = []
    for item in items:
        revision = up.get(item.pk)
        found.append(_colours(item, revision) if revision else None)
    return found


def _colours(item: Item, revision: Revision) -> Colours | None:
    if not is_laid(revision):
        return None
    try:
        return laid_colours(revision.picture, sheet_of(item))
    except NotFound:
        return None


def likeness(colours: Sequence[Colours | None]) -> list[float | None]:
    """How alike each composition is to the one before it, -1 to 1."""
    pairs = zip([None, *colours], colours, strict=False)
    return [alike(one, two) if one and two else None for one, two in pairs]


def _same_again(items: Sequence[Item], up: Mapping[int, Revision]) -> dict[int, int]:
    """Items inside a run of the same composition, three times or more."""
    seen = likeness(colours_now(items, up))
    same = [near is not None and near >= SAME_COMPOSITION for near in seen]
    return {
        items[at].pk: many for at, many in runs_of(same).items() if many >= SAME_RUN
    }


def _warned(revisions: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """What the last checks said of type and its ground, in two words."""
    done = CheckRun.objects.filter(
        revision__in=revisions, work=CheckRun.State.DONE
    ).order_by("asked_at", "pk")
    last = dict(done.values_list("revision_id", "findings"))
    return {
        revision: tuple(
            CHECKS[one["check"]]
            for one in findings
            if one["check"] in CHECKS and one["level"] in (Level.WARN, Level.STOP)
        )
        for revision, findings in last.items()
    }
