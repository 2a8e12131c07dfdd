"""Words and pictures side by side: what each tells, item by item, with flags."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Box, Item, ItemText
from board.books.queries import items_of_book, newest_texts
from board.books.rules import count_words
from board.checks.models import CheckRun
from board.checks.rules import Level
from board.errors import NotFound
from board.repro.colours import Colours, alike, laid_colours
from board.revisions.models import Revision
from board.revisions.queries import called, currents, is_laid, sheet_of, small_of
from board.wall.rules import (
    SAME_COMPOSITION,
    SAME_RUN,
    in_gutter,
    reading_seconds,
    runs_of,
    words_flags,
)

CHECKS = {
    "type contrast": "type on a ground of low contrast",
    "type ground": "type over busy art",
}


@dataclass(frozen=True)
class Row:
    """One item: what the words say, what the picture adds, and what to look at."""

    item: Item
    text: ItemText | None
    words: int
    seconds: float
    picture: str
    called: str
    flags: tuple[str, ...]

    @property
    def turns(self) -> bool:
        """Whether the page turns after this item."""
        pages = self.item.book.extent
        return bool(self.item.first_page) and self.item.last_page < pages


def tracks_of(book: Book, person: Person) -> list[Row]:
    """Every item in page order, in a number of queries that does not grow."""
    items = list(items_of_book(book).prefetch_related("boxes"))
    up, texts = currents(book), newest_texts(book)
    for item in items:
        item.book = book
    runs = _same_again(items, up)
    warned = _warned([one.pk for one in up.values()])
    return [_row(item, up.get(item.pk), texts, runs, warned, person) for item in items]


def _row(
    item: Item,
    up: Revision | None,
    texts: Mapping[str, ItemText],
    runs: Mapping[int, int],
    warned: Mapping[int, tuple[str, ...]],
    person: Person,
) -> Row:
    text = texts.get(item.key)
    words = count_words(text.words) if text else 0
    flags = [*words_flags(words, story=item.story)]
    if item.pk in runs:
        flags.append(f"the same composition {runs[item.pk]} times running")
    flags += [
        f"{box.label or 'focal box'} in the gutter band"
        for box in item.boxes.all()
        if box.sort == Box.Sort.FOCAL and item.is_double and _in_gutter(box, item)
    ]
    flags += warned.get(up.pk, ()) if up else ()
    laid = up is not None and is_laid(up)
    return Row(
        item,
        text,
        words,
        reading_seconds(words, item.book.words_a_minute),
        small_of(up, person, item.book) if up and laid else "",
        called(up) if up else "",
        tuple(flags),
    )


def _in_gutter(box: Box, item: Item) -> bool:
    return in_gutter(box.x, box.width, item.book.gutter_mm / item.width_mm)


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
