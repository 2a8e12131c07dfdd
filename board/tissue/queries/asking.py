"""The ledger of asked and not asked, as each reader may read it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.books.rules import Stage
from board.light_table.models import Comparison
from board.light_table.queries import comparison_of, held_against, recipe_of
from board.light_table.rules import compares_colour
from board.permits import Role
from board.revisions.models import Revision
from board.tissue.models import ChangeWord, Note
from board.tissue.queries import NoteSeen, notes_for, sees, sheet_of
from board.tissue.rules import ASKING, Region, Sheet, region_of
from board.tissue.rules.asking import (
    Ask,
    Became,
    Measured,
    Outcome,
    asked_by,
    became,
    far,
)

NO_PLACE = "it has no place on the sheet"
NOT_PLACED = "its place on this revision is not known"
MANNERS = "drawn against painted, only the plan can be compared"
NOT_READY = "the comparison is not ready"


@dataclass(frozen=True)
class ChangeSeen:
    """A measured change with the notes that asked for it, as a reader may know."""

    place: int
    region: Region
    area: float
    mean: float
    peak: float
    asked: bool
    notes: tuple[NoteSeen, ...]
    words: tuple[ChangeWord, ...]


@dataclass(frozen=True)
class NoteBecame:
    """A note and what became of its place; `why` says why nobody can tell."""

    seen: NoteSeen
    outcome: Outcome
    region: Region | None = None
    why: str = ""

    @property
    def is_quiet(self) -> bool:
        """Whether its line says done and nothing measured changed there."""
        note = self.seen.note
        done = note.answer == Note.Answer.DONE and note.sort != Note.Class.QUERY
        return done and self.outcome.became is Became.NOT_CHANGED

    @property
    def says(self) -> str:
        """The same in words, as the row shows it."""
        word = self.outcome.became
        if word is Became.CHANGED:
            share = max(round(self.outcome.share * 100), 1)
            return f"{word}, {share} % of its place"
        return f"{word}: {self.why}" if self.why else str(word)


@dataclass(frozen=True)
class Ledger:
    """One pair of revisions held against the notes."""

    before: Revision
    after: Revision
    ready: bool
    colour: bool
    changes: tuple[ChangeSeen, ...]
    notes: tuple[NoteBecame, ...]

    @property
    def not_asked(self) -> tuple[ChangeSeen, ...]:
        return tuple(change for change in self.changes if not change.asked)


def ledger_for(person: Person, before: Revision, after: Revision) -> Ledger:
    """Every change with the notes that asked; every note with what became of it."""
    item = after.item
    row = comparison_of(before, after)
    colour = compares_colour(Stage(before.stage), Stage(after.stage))
    ready = row is not None and row.work == Comparison.State.DONE
    measured = _measured(row) if row is not None and ready else []
    asking = _asking(item, after)
    seen = {one.note.key: one for one in notes_for(person, item)}
    words = _words(before, after, measured)
    sheet = sheet_of(item)
    asks = [_ask(note, sheet) for note in asking]
    known = _known_to(person, item, asking)
    changes = [
        _change(one, asks, seen, known, words.get(one.place, ())) for one in measured
    ]
    by_key = {note.key for note in asking}
    map_ = Map(tuple(measured), ready=ready, colour=colour)
    notes = [_became(one, map_, sheet) for key, one in seen.items() if key in by_key]
    return Ledger(before, after, ready, colour, tuple(changes), tuple(notes))


@dataclass(frozen=True)
class Map:
    """What was measured of a pair."""

    measured: tuple[Measured, ...]
    ready: bool
    colour: bool


def became_of(
    before: Revision, after: Revision, seen: Iterable[NoteSeen]
) -> dict[str, NoteBecame]:
    """What became of each of these notes, by key; one query however many there are.

    Only notes that stood when the newer revision went up have an answer.
    """
    row = comparison_of(before, after)
    ready = row is not None and row.work == Comparison.State.DONE
    map_ = Map(
        tuple(_measured(row)) if row is not None and ready else (),
        ready=ready,
        colour=compares_colour(Stage(before.stage), Stage(after.stage)),
    )
    sheet = sheet_of(after.item)
    return {
        one.note.key: _became(one, map_, sheet)
        for one in seen
        if _stood(one.note, after.sent_up_at)
    }


def _stood(note: Note, moment: datetime | None) -> bool:
    raised = moment is None or note.raised_at <= moment
    return raised and _open_at(note, moment)


def _became(seen: NoteSeen, map_: Map, sheet: Sheet) -> NoteBecame:
    ask = _ask(seen.note, sheet)
    outcome = became(ask, map_.measured, colour=map_.colour and map_.ready)
    return NoteBecame(seen, outcome, ask.region, _why(seen.note, ask, map_))


def _why(note: Note, ask: Ask, map_: Map) -> str:
    """Why nobody can say what became of a note's place; empty where one can."""
    if note.place_unknown:
        return NOT_PLACED
    if ask.region is None or not ask.region.area:
        return NO_PLACE
    if not map_.colour:
        return MANNERS
    return "" if map_.ready else NOT_READY


def _measured(row: Comparison) -> list[Measured]:
    return [
        Measured(
            place,
            Region(told["x"], told["y"], told["width"], told["height"]),
            told["area"],
            told["mean"],
            told["peak"],
        )
        for place, told in enumerate(row.changes)
    ]


def _asking(item: Item, after: Revision) -> list[Note]:
    """Notes that could ask when the revision went up (in the folder: now).

    Open or listed then, or a suggestion left to the artist; closed lines never ask.
    """
    rows = Note.objects.filter(item=item, sort__in=ASKING).select_related("by")
    if after.sent_up_at is not None:
        rows = rows.filter(raised_at__lte=after.sent_up_at)
    return [note for note in rows if _open_at(note, after.sent_up_at)]


def _open_at(note: Note, moment: datetime | None) -> bool:
    if note.state == Note.State.LEFT:
        return True
    waited = note.role == Role.AUTHOR and note.passed_at is None
    if waited or note.state in {Note.State.WITH_EDITOR, Note.State.DECLINED}:
        return False
    if note.ended_at is None:
        return True
    return moment is not None and note.ended_at > moment


def _ask(note: Note, sheet: Sheet) -> Ask:
    region = None
    if not note.place_unknown:
        region = region_of(note.mark, note.points, sheet)
    return Ask(note.key, region)


def _known_to(person: Person, item: Item, asking: list[Note]) -> frozenset[str]:
    """Notes that count as asking for this reader.

    The artist was asked by what she was sent; everybody else is told whether the
    house asked, without the notes that are not theirs to read.
    """
    roles = roles_of(person, item.book)
    if roles != {Role.ILLUSTRATOR}:
        return frozenset(note.key for note in asking)
    return frozenset(
        note.key for note in asking if sees(note, person, item.book, roles)
    )


def _change(
    one: Measured,
    asks: list[Ask],
    seen: dict[str, NoteSeen],
    known: frozenset[str],
    words: tuple[ChangeWord, ...],
) -> ChangeSeen:
    keys = [key for key in asked_by(one, asks) if key in known]
    named = [word.note.key for word in words if word.note is not None]
    return ChangeSeen(
        place=one.place,
        region=one.region,
        area=one.area,
        mean=one.mean,
        peak=one.peak,
        asked=bool(keys),
        notes=tuple(seen[key] for key in dict.fromkeys([*keys, *named]) if key in seen),
        words=words,
    )


def _words(
    before: Revision, after: Revision, measured: list[Measured]
) -> dict[int, tuple[ChangeWord, ...]]:
    """Words by the change they lie on; measured anew, they find it by its place."""
    found: dict[int, tuple[ChangeWord, ...]] = {}
    rows = ChangeWord.objects.filter(before=before, after=after)
    for word in rows.select_related("by", "note").order_by("at", "pk"):
        region = Region(*word.region)
        nearest = min(measured, key=lambda one: far(one.region, region), default=None)
        if nearest is not None:
            found[nearest.place] = (*found.get(nearest.place, ()), word)
    return found


def unasked_counts(
    person: Person, book: Book, shown: Mapping[int, Revision]
) -> dict[int, int]:
    """How many measured changes nobody asked for, by item; one set of queries a book.

    `shown` are the revisions looked at; each is held against the one before it. What
    is not compared yet, or may not be compared in colour, counts nothing.
    """
    roles = roles_of(person, book)
    pairs = _pairs(book, shown)
    rows = Comparison.objects.filter(
        after__in=[after.pk for _, after in pairs], work=Comparison.State.DONE
    )
    kept = {(row.before_id, row.after_id, row.recipe): row for row in rows}
    notes: dict[int, list[Note]] = defaultdict(list)
    items = [after.item_id for _, after in pairs]
    asking = Note.objects.filter(item__in=items, sort__in=ASKING)
    for note in asking.select_related("by", "item"):
        notes[note.item_id].append(note)
    found: dict[int, int] = {}
    for before, after in pairs:
        row = kept.get((before.pk, after.pk, recipe_of(before, after)))
        if row is None or not compares_colour(Stage(before.stage), Stage(after.stage)):
            continue
        after.item.book = book
        sheet = sheet_of(after.item)
        asks = [
            _ask(note, sheet)
            for note in notes[after.item_id]
            if _stood(note, after.sent_up_at) and _counts(note, person, book, roles)
        ]
        found[after.item_id] = sum(not asked_by(one, asks) for one in _measured(row))
    return found


def _pairs(
    book: Book, shown: Mapping[int, Revision]
) -> list[tuple[Revision, Revision]]:
    """Each shown revision with the one it is held against; one query for a book."""
    up: dict[int, list[Revision]] = defaultdict(list)
    rows = Revision.objects.filter(item__book=book, number__isnull=False)
    for row in rows.select_related("item").order_by("sent_up_at", "number"):
        up[row.item_id].append(row)
    pairs = []
    for item, revision in shown.items():
        after = next((one for one in up[item] if one.pk == revision.pk), None)
        before = held_against(after, up[item]) if after else None
        if before is not None and after is not None:
            pairs.append((before, after))
    return pairs


def _counts(note: Note, person: Person, book: Book, roles: frozenset[Role]) -> bool:
    """Whether the note counts as asking for this reader; see `_known_to`."""
    return roles != {Role.ILLUSTRATOR} or sees(note, person, book, roles)
