"""What waits for whom, and why: the desk."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.queries import books_for, items_of_books
from board.books.rules import Standing
from board.permits import Act, Role, may
from board.slips.queries.due import due_of_artist, due_of_line
from board.slips.queries.sentences import Knows, knows_all
from board.slips.queries.slates import slates_for, stage_of
from board.slips.rules.guards import Why, why_not_initial, why_not_issue, why_not_ok
from board.slips.rules.slate import Slate
from board.slips.rules.stations import Asked
from board.slips.rules.wants import ARTISTS, Kind, Want


@dataclass(frozen=True)
class Waiting:
    """One thing on somebody's desk; `due` is the day it is wanted, if one is known.

    `letter` says that its reader is the author alone, who is told by letter.
    """

    book: Book
    item: Item
    stage: str
    want: Want
    since: datetime | None
    due: date | None
    letter: bool

    @property
    def why(self) -> str:
        return self.want.why


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
        wants = list(_wants(slate, told[item.book_id]))
        letter = told[item.book_id].roles == {Role.AUTHOR}
        last = only_theirs(slate, wants, person.key)
        for want in wants:
            due = _due(want, slate, row, item.book)
            told_last = replace(want, last=last)
            found.append(
                Waiting(item.book, item, row.stage, told_last, row.since, due, letter)
            )
    return found


def _due(want: Want, slate: Slate, row: ItemStage, book: Book) -> date | None:
    if want.kind in ARTISTS:
        return due_of_artist(slate, row, book)
    line = slate.line_for(want.facet) if want.facet else None
    return due_of_line(line, slate, row, book) if line else None


def only_theirs(slate: Slate, wants: Iterable[Want], person: str) -> bool:
    """Whether all that keeps a hung item from OK is this person's to lift."""
    if slate.standing is not Standing.HUNG:
        return False
    own = {want.facet for want in wants if want.kind is Kind.INITIAL}
    for reason in why_not_ok(slate):
        note = reason.note
        if reason.line is not None and reason.line.facet in own:
            continue
        if reason.why is Why.CHECKS_RUNNING:
            continue
        answered = note is not None and note.by == person and bool(note.answer)
        if note is None or note.state != "open" or not answered:
            return False
    return True


def _wants(slate: Slate, to: Knows) -> Iterable[Want]:
    if Role.ILLUSTRATOR in to.roles:
        yield from _for_artist(slate)
    if may(Act.PASS_ON, to.roles) and slate.with_editor:
        why = _some(len(slate.with_editor), "author's note")
        yield Want(Kind.PASS_ON, f"{why} to pass on or decline")
    if may(Act.RULE_PAIR, to.roles) and slate.unruled_pairs:
        why = _some(slate.unruled_pairs, "pair")
        yield Want(Kind.PAIR, f"{why} of directions to rule")
    if may(Act.ISSUE_SHEET, to.roles) and _sheet_due(slate):
        yield Want(Kind.SHEET, "a note sheet is ready to go out")
    if Role.PUBLISHER in to.roles:
        yield from _told_of_sources(slate)
    yield from _queries(slate, to)
    yield from _to_close(slate, to)
    yield from _to_initial(slate, to)


def _for_artist(slate: Slate) -> Iterable[Want]:
    with_her = slate.standing in {Standing.AT_THE_TABLE, Standing.RETURNED}
    lines = sum(note.wants_answer for note in slate.notes)
    if lines:
        yield Want(Kind.LINES, f"{_some(lines, 'line')} to answer")
    elif with_her:
        yield Want(Kind.REVISION, "at your table: send up a revision")
    elif slate.standing is Standing.OK_AS_CORRECTED:
        yield Want(Kind.CORRECTIONS, "small corrections are listed")


def _sheet_due(slate: Slate) -> bool:
    if slate.standing is not Standing.HUNG or why_not_issue(slate):
        return False
    listed = slate.listed
    return any(not note.answer and note.key not in listed for note in slate.blocking)


def _told_of_sources(slate: Slate) -> Iterable[Want]:
    """A source that turned after the hand-over moves nothing: it is told."""
    if slate.standing is Standing.HANDED_OVER:
        for source in slate.uncleared:
            why = f"handed over, and source {source.code} is {source.clearance}"
            yield Want(Kind.SOURCE, why)


def _queries(slate: Slate, to: Knows) -> Iterable[Want]:
    """Queries about a facet of theirs, asked by others and not yet on a note sheet."""
    own = to.facets
    asked = [
        note
        for note in slate.blocking
        if note.sort == "query" and not note.answer and not note.issued
        if note.facet in own and note.by != to.person.key and to.may_see(note)
    ]
    if asked:
        word = "query" if len(asked) == 1 else "queries"
        yield Want(Kind.QUERY, f"{len(asked)} {word} for you to answer")


def _to_close(slate: Slate, to: Knows) -> Iterable[Want]:
    mine = [note for note in slate.blocking if note.answer and note.by == to.person.key]
    if mine and slate.standing is not Standing.RETURNED:
        why = f"{_some(len(mine), 'answered line')} of yours to look at"
        yield Want(Kind.LOOK, why)


def _to_initial(slate: Slate, to: Knows) -> Iterable[Want]:
    seen = slate.checksum, slate.text_version
    for facet in to.facets:
        line = slate.line_for(facet)
        if line is None or line.asked is not Asked.MUST or facet in slate.live:
            continue
        reasons = why_not_initial(slate, facet, whose=to.whose(facet), seen=seen)
        # Running checks end by themselves, and nothing would tell of it then.
        if all(reason.why is Why.CHECKS_RUNNING for reason in reasons):
            principal = to.principal(facet)
            whom = f" p.p. {principal.initials}" if principal else ""
            why = f"{facet.value} waits for your initial{whom}"
            yield Want(Kind.INITIAL, why, facet)


def _some(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
