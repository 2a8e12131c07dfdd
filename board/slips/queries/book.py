"""The book slip: what it lists now, and what keeps it from being complete."""

from dataclasses import dataclass

from accounts.models import Person
from board.books.models import Book, Item, ItemText
from board.books.queries import items_of_book
from board.books.rules import Stage, Standing
from board.continuity.queries import unexplained
from board.permits import Role
from board.readings.queries import readings_on
from board.revisions.models import Revision
from board.slips.models import BookInitial, BookSlip
from board.slips.queries.sentences import STILL_LOOKING, Knows, knows, told
from board.slips.queries.slates import note_fact, slates_of, stage_of
from board.slips.rules.book import Listed, hash_of, still_missing
from board.slips.rules.guards import why_not_ok
from board.slips.rules.slate import Slate
from board.tissue.models import Note

GOOD_AT_SKETCH = frozenset(
    {Standing.OK, Standing.OK_AS_CORRECTED, Standing.HANDED_OVER}
)
GOOD = frozenset({Standing.OK, Standing.HANDED_OVER})


@dataclass(frozen=True)
class BookStanding:
    """The book slip at a stage, as one reader may know it."""

    stage: Stage
    list_hash: str
    why_not_open: tuple[str, ...]
    missing: tuple[str, ...]
    initials: tuple[BookInitial, ...]
    complete: bool


def listing_of(book: Book, stage: Stage) -> list[Listed]:
    """Items in page order with the current revision at the stage and their words."""
    rows = Revision.objects.filter(
        item__book=book, item__set_aside=False, stage=stage, number__isnull=False
    ).order_by("item__position", "number")
    current = dict(rows.values_list("item__key", "sha256"))
    texts = ItemText.objects.filter(item__book=book).order_by("text__number")
    words = dict(texts.values_list("item__key", "text__number"))
    keys = book.items.filter(set_aside=False).order_by("position")
    return [
        Listed(key, current.get(key, ""), words.get(key, 0))
        for key in keys.values_list("key", flat=True)
    ]


def live_slip(book: Book, stage: Stage) -> BookSlip | None:
    """The book slip that nothing has undone yet."""
    return BookSlip.objects.filter(book=book, stage=stage, lapsed_at=None).first()


def items_stand(book: Book, stage: Stage) -> bool:
    """Whether every item is OK at the stage (at sketch, as corrected will do)."""
    good = GOOD if stage is Stage.FINAL else GOOD_AT_SKETCH
    for item in items_of_book(book):
        row = stage_of(item)
        if row is None or row.stage != stage or row.standing not in good:
            return False
    return True


def book_standing(book: Book, stage: Stage, person: Person) -> BookStanding:
    """What keeps the book slip shut, or who has not initialled it."""
    listing = listing_of(book, stage)
    found = hash_of(listing)
    slip = live_slip(book, stage)
    given = list(slip.initials.select_related("person", "principal")) if slip else []
    if slip and slip.list_hash != found:
        given = []
    to = knows(person, book)
    missing = still_missing([Role(initial.role) for initial in given])
    return BookStanding(
        stage=stage,
        list_hash=found,
        why_not_open=tuple(why_not_open(book, stage, to)),
        missing=tuple(
            f"{to.names.get(role, 'nobody yet')} ({role.value})" for role in missing
        ),
        initials=tuple(given),
        complete=not missing,
    )


def why_not_open(book: Book, stage: Stage, to: Knows) -> list[str]:
    """The same sentences as the items', with the item before them, then the book's."""
    items = list(items_of_book(book))
    slates = slates_of(book, items)
    reasons = []
    for item in items:
        reasons += [
            f"{item.label}: {told}" for told in _of_item(item, stage, slates, to)
        ]
    reasons += _late_notes(book, to)
    if stage is Stage.FINAL:
        reasons += [
            f"{odd.item.label}: {odd.thing} is {odd.value}, elsewhere {odd.usual}; nobody "
            "said why."
            for odd in unexplained(book)
        ]
        if not readings_on(book):
            reasons.append("No reading was held on exactly these pictures and words.")
    return reasons


def _late_notes(book: Book, to: Knows) -> list[str]:
    """Late notes that nobody ruled, as far as this reader may know of them."""
    late = Note.objects.filter(
        item__book=book, item__set_aside=False, state=Note.State.LATE, waits_for=""
    )
    told, hidden = [], False
    for note in late.select_related("item", "by"):
        if to.may_see(note_fact(note)):
            told.append(f"{note.item.label}: a late note of {note.by.initials} waits.")
        else:
            hidden = True
    return told + ([STILL_LOOKING] if hidden else [])


def _of_item(
    item: Item, stage: Stage, slates: dict[int, Slate], to: Knows
) -> list[str]:
    slate, row = slates.get(item.pk), stage_of(item)
    good = GOOD if stage is Stage.FINAL else GOOD_AT_SKETCH
    if slate is None or row is None or row.stage != stage:
        return [f"is not at {stage.value}."]
    if row.standing in good:
        held = [reason for reason in why_not_ok(slate) if reason.held is not None]
        return told(held, slate, row, to)
    return told(why_not_ok(slate), slate, row, to)
