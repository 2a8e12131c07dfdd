"""What waits for whom, and why: the desk."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.queries import books_for, items_of_books
from board.books.rules import Standing
from board.permits import Act, Role, facets_of, may
from board.slips.queries.sentences import Knows, knows_all
from board.slips.queries.slates import slates_for, stage_of
from board.slips.rules.guards import why_not_initial, why_not_issue
from board.slips.rules.slate import Slate
from board.slips.rules.stations import Asked


@dataclass(frozen=True)
class Waiting:
    """One thing on somebody's desk."""

    book: Book
    item: Item
    stage: str
    why: str
    since: datetime | None
    room: str


def waiting_for(person: Person, books: Sequence[Book] | None = None) -> list[Waiting]:
    """Everything that waits for this person, by book and page order.

    The number of queries is the same for one book and for twenty.
    """
    books = list(books_for(person)) if books is None else books
    items = items_of_books(books)
    slates, told = slates_for(items), knows_all(person, books)
    found = []
    for item in items:
        slate, row = slates.get(item.pk), stage_of(item)
        if slate is None or row is None:
            continue
        for why in _reasons(slate, row, told[item.book_id]):
            found.append(Waiting(item.book, item, row.stage, why, row.since, item.key))
    return found


def _reasons(slate: Slate, row: ItemStage, to: Knows) -> Iterable[str]:
    if Role.ILLUSTRATOR in to.roles:
        yield from _for_artist(slate)
    if may(Act.PASS_ON, to.roles) and slate.with_editor:
        count = len(slate.with_editor)
        yield _some(count, "author's note") + " to pass on or decline"
    if may(Act.RULE_PAIR, to.roles) and slate.unruled_pairs:
        yield f"{_some(slate.unruled_pairs, 'pair')} of directions to rule"
    if may(Act.ISSUE_SHEET, to.roles) and _sheet_due(slate):
        yield "a note sheet is ready to go out"
    if Role.PUBLISHER in to.roles:
        yield from _told_of_sources(slate)
    yield from _to_close(slate, to)
    yield from _to_initial(slate, to)


def _for_artist(slate: Slate) -> Iterable[str]:
    with_her = slate.standing in {Standing.AT_THE_TABLE, Standing.RETURNED}
    lines = sum(note.wants_answer for note in slate.notes)
    if lines:
        yield f"{_some(lines, 'line')} to answer"
    elif with_her:
        yield "at your table: send up a revision"
    elif slate.standing is Standing.OK_AS_CORRECTED:
        yield "small corrections are listed"


def _sheet_due(slate: Slate) -> bool:
    if slate.standing is not Standing.HUNG or why_not_issue(slate):
        return False
    listed = slate.listed
    return any(not note.answer and note.key not in listed for note in slate.blocking)


def _told_of_sources(slate: Slate) -> Iterable[str]:
    """A source that turned after the hand-over moves nothing: it is told."""
    if slate.standing is Standing.HANDED_OVER:
        for source in slate.uncleared:
            yield f"handed over, and source {source.code} is {source.clearance}"


def _to_close(slate: Slate, to: Knows) -> Iterable[str]:
    mine = [note for note in slate.blocking if note.answer and note.by == to.person.key]
    if mine and slate.standing is not Standing.RETURNED:
        yield f"{_some(len(mine), 'answered line')} of yours to look at"


def _to_initial(slate: Slate, to: Knows) -> Iterable[str]:
    seen = slate.checksum, slate.text_version
    for facet in facets_of(to.roles, studio=to.book.is_studio):
        line = slate.line_for(facet)
        if line is None or line.asked is not Asked.MUST or facet in slate.live:
            continue
        if not why_not_initial(slate, facet, person=to.person.key, seen=seen):
            yield f"{facet.value} waits for your initial"


def _some(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
