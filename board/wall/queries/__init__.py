"""The wall: every item in page order, as this reader may see it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import (
    Case,
    IntegerField,
    OuterRef,
    QuerySet,
    Subquery,
    When,
)

from accounts.models import Person
from board.books.models import Book, Item, ItemStage, ItemText
from board.books.queries import items_of_book
from board.books.rules import STAGES, Standing
from board.daybook.actions import this_moment
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.light_table.queries import AGREED
from board.repro.grants import grant_tiles
from board.repro.laying import SMALL
from board.revisions.models import Revision
from board.revisions.queries import scope_of, sheet_of
from board.slips.queries.due import next_due, today_of
from board.slips.queries.sentences import PLAIN, Knows, told
from board.slips.queries.slates import slates_of, stage_of
from board.slips.queries.waiting import waiting_for
from board.slips.rules.due import due_told
from board.slips.rules.guards import Why, why_not_ok
from board.slips.rules.slate import Slate
from board.tissue.models import Note
from board.wall.rules import Count, Hanging, counted, first_words

ORDER = Case(
    *(When(stage=stage.value, then=place) for place, stage in enumerate(STAGES)),
    output_field=IntegerField(),
)


@dataclass(frozen=True)
class Hung:
    """One item on the line."""

    item: Item
    stage: ItemStage | None
    held: bool
    picture: str
    called: str
    caption: str
    counts: tuple[Count, ...]
    why: str
    width: float
    height: float
    around: float
    due: str = ""

    @property
    def open_notes(self) -> int:
        return sum(count.number for count in self.counts)

    @property
    def laid_width(self) -> float:
        """The laid picture reaches past the trim; the wall shows the trim alone."""
        return self.width + 2 * self.around

    @property
    def laid_height(self) -> float:
        return self.height + 2 * self.around

    @property
    def turns(self) -> bool:
        """Whether the page turns after it."""
        last = self.item.last_page
        return bool(self.item.first_page) and last < self.item.book.extent

    @property
    def described(self) -> str:
        """What the picture shows, for who cannot see it."""
        return (
            self.item.alt_text or f"{self.item.kind} {self.item.label}, {self.called}"
        )


def wall_of(book: Book, to: Knows, hanging: Hanging | None = None) -> list[Hung]:
    """Every item of the book, in a number of queries that does not grow."""
    hanging = hanging or Hanging()
    items = list(_with_pictures(items_of_book(book)))
    if hanging.agreed:
        _take_agreed(book, items)
    slates = slates_of(book, items)
    return [_hung(item, slates.get(item.pk), to) for item in items]


def _take_agreed(book: Book, items: Sequence[Item]) -> None:
    """Show on each item the last picture that came OK, in place of the newest."""
    agreed = last_agreed(book)
    rows = Revision.objects.filter(item__book=book, number__isnull=False)
    pictures = {
        (key, stage, number): picture
        for key, stage, number, picture in rows.values_list(
            "item__key", "stage", "number", "picture"
        )
    }
    for item in items:
        stage, number = agreed.get(item.key, ("", 0))
        item.__dict__ |= {
            "picture": pictures.get((item.key, stage, number)),
            "shown_stage": stage,
            "shown_number": number,
        }


def last_agreed(book: Book) -> dict[str, tuple[str, int]]:
    """Stage and number of the revision with which each item last came OK.

    As the daybook has it: it enters the standing, not the picture, which was the one
    sent up last. An item that never came OK is not in it.
    """
    up: dict[tuple[str, str], int] = {}
    found: dict[str, tuple[str, int]] = {}
    rows = Entry.objects.filter(
        book_key=book.key, kind__in=(Happened.SENT_UP, Happened.STANDING_MOVED)
    ).order_by("number")
    for key, stage, kind, details in rows.values_list(
        "item_key", "stage", "kind", "details"
    ):
        if kind == Happened.SENT_UP:
            up[key, stage] = details["revision"]
        elif details["to"] in AGREED and (key, stage) in up:
            found[key] = (stage, up[key, stage])
    return found


def those(hung: list[Hung], only: str, to: Knows) -> list[Hung]:
    """What alone is to hang: mine, with directions, due, or of one standing."""
    if not only:
        return hung
    if only == "mine":
        mine = {one.item.pk for one in waiting_for(to.person, [to.book])}
        return [one for one in hung if one.item.pk in mine]
    if only == "directions":
        return [one for one in hung if any("direction" in c.word for c in one.counts)]
    if only == "due":
        return [one for one in hung if one.due]
    return [one for one in hung if _standing(one) == only]


def _standing(hung: Hung) -> str:
    return hung.stage.standing if hung.stage else Standing.SHUT.value


def _with_pictures(items: QuerySet[Item]) -> QuerySet[Item]:
    """Each item with its current picture, its name and its words, in the same query."""
    up = Revision.objects.filter(item=OuterRef("pk"), number__isnull=False)
    newest = up.order_by(ORDER.desc(), "-number")
    words = ItemText.objects.filter(item=OuterRef("pk")).order_by("-text__number")
    return items.annotate(
        picture=Subquery(newest.values("picture")[:1]),
        shown_stage=Subquery(newest.values("stage")[:1]),
        shown_number=Subquery(newest.values("number")[:1]),
        caption=Subquery(words.values("words")[:1]),
    )


def _hung(item: Item, slate: Slate | None, to: Knows) -> Hung:
    row = stage_of(item)
    reasons = [PLAIN[Why.SHUT]]
    if slate is not None:
        reasons = told(why_not_ok(slate), slate, row, to)
    shown = item.__dict__  # what the query above wrote beside the columns
    picture = shown["picture"]
    sheet = sheet_of(item)
    called = f"{shown['shown_stage']}, revision {shown['shown_number']}"
    return Hung(
        item=item,
        stage=row,
        held=slate is not None and bool(slate.holds),
        picture=_small(picture, item.book, to.person) if picture else "",
        called=called if picture else "nothing up yet",
        caption=first_words(shown["caption"] or ""),
        counts=_counts(slate, to),
        why=reasons[0] if reasons else "",
        width=sheet.width_mm,
        height=sheet.height_mm,
        around=sheet.around_mm,
        due=_due(slate, row, to),
    )


def _due(slate: Slate | None, row: ItemStage | None, to: Knows) -> str:
    """The first day on which anything is wanted here, of whomever."""
    due = next_due(slate, row, to.book) if slate else None
    return due_told(due, today_of(to.person, this_moment())) if due else ""


def _small(picture: str, book: Book, person: Person) -> str:
    return f"{grant_tiles(picture, scope_of(book, person))}/{SMALL}"


def _counts(slate: Slate | None, to: Knows) -> tuple[Count, ...]:
    """Open notes by class, those alone that this reader knows of."""
    notes = slate.notes if slate else ()
    order = [word.value for word in Note.Class]
    return counted([note.sort for note in notes if to.may_see(note)], order)


def summary(wall: list[Hung]) -> str:
    """How the book stands, in a sentence."""
    counts = Counter(_standing(hung) for hung in wall)
    order = [word.value for word in Standing if counts[word.value]]
    return ", ".join(f"{counts[word]} {word}" for word in order) + "."


def nothing_open(wall: list[Hung]) -> bool:
    """Whether the book waits for its first stage."""
    return all(hung.stage is None for hung in wall)
