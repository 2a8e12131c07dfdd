"""Slates from the tables, one or a whole book's in the same number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import OuterRef, Subquery

from board.books.models import Book, Item, ItemStage, ItemText
from board.books.queries import items_of_book, latest_open
from board.books.rules import Stage, Standing
from board.checks.queries import AtFinal, at_final
from board.clippings.queries import uncleared
from board.permits import Facet, Role
from board.revisions.models import Revision
from board.slips.models import Hold, Initial, Slip
from board.slips.rules.slate import Given, Held, NoteFact, Slate, SourceFact
from board.slips.rules.stations import Line, lines_at
from board.tissue.models import Note, PairRuling
from board.tissue.queries import open_directions, sheet_of
from board.tissue.rules import clash_candidates

WAITING = (Note.State.OPEN, Note.State.WITH_EDITOR, Note.State.LATE)


def stage_of(item: Item) -> ItemStage | None:
    """The item's latest open stage."""
    return latest_open(list(item.stages.all()))


def lines_of(book: Book, stage: Stage) -> tuple[Line, ...]:
    """The slip's lines on this book at this stage."""
    return lines_at(
        stage,
        studio=book.is_studio,
        author_approves=book.author_approves,
        own=book.stations,
    )


def slate_of(item: Item) -> Slate | None:
    """The item's slate; None while every stage is shut."""
    return slates_of(item.book, [item]).get(item.pk)


def slates_of(book: Book, items: Sequence[Item] | None = None) -> dict[int, Slate]:
    """Slates of a book's items."""
    items = list(items_of_book(book)) if items is None else list(items)
    for item in items:
        item.book = book
    return slates_for(items)


def slates_for(items: Sequence[Item]) -> dict[int, Slate]:
    """Slates by item, a fixed number of queries however many items and books."""
    stages = {item.pk: stage_of(item) for item in items}
    opened = [item for item in items if stages[item.pk] is not None]
    notes = _notes(opened)
    facts = _Facts(opened)
    found = {}
    for item in opened:
        row = stages[item.pk]
        if row is not None:
            found[item.pk] = facts.slate(item, row, notes[item.pk])
    return found


def _notes(items: Sequence[Item]) -> dict[int, list[Note]]:
    found: dict[int, list[Note]] = defaultdict(list)
    rows = Note.objects.filter(item__in=items, state__in=WAITING).select_related("by")
    for note in rows.order_by("raised_at", "pk"):
        found[note.item_id].append(note)
    return found


class _Facts:
    """What the slates of some items are made of, fetched once."""

    def __init__(self, items: Sequence[Item]) -> None:
        self.currents = _currents(items)
        self.live, self.lapsed = _initials(items)
        self.holds = _holds(items)
        self.rulings = _rulings(items)
        final = [item for item in items if _is_final(item)]
        self.uncleared = _uncleared(final)
        self.checks = at_final(final)

    def slate(self, item: Item, row: ItemStage, notes: list[Note]) -> Slate:
        stage = Stage(row.stage)
        checksum, text_version = self.currents.get((item.pk, stage), ("", 0))
        here = [note for note in notes if note.stage == stage]
        unruled, clashes = self._pairs(item, here)
        checks = self.checks.get(item.pk, AtFinal())
        return Slate(
            stage=stage,
            standing=Standing(row.standing),
            lines=lines_of(item.book, stage),
            live=self.live.get((item.pk, stage), {}),
            notes=tuple(note_fact(note) for note in here),
            holds=tuple(self.holds.get(item.pk, ())),
            checksum=checksum,
            text_version=text_version,
            unruled_pairs=unruled,
            open_clashes=clashes,
            lapsed=self.lapsed.get((item.pk, stage), {}),
            uncleared=self.uncleared.get(item.pk, ()),
            stops=checks.stops,
            checks_running=checks.running,
        )

    def _pairs(self, item: Item, notes: list[Note]) -> tuple[int, int]:
        placed = open_directions(notes, sheet_of(item))
        if len(placed) < 2:
            return 0, 0
        still = {place.key for place in placed}
        ruled = {pair: word for pair, word in self.rulings.items() if pair <= still}
        unruled = clash_candidates(placed, frozenset(ruled))
        clash = PairRuling.Ruling.CLASH
        return len(unruled), sum(word == clash for word in ruled.values())


def note_fact(note: Note) -> NoteFact:
    """A note as sign-off looks at it."""
    return NoteFact(
        key=note.key,
        sort=note.sort,
        state=note.state,
        facet=Facet(note.facet),
        by=note.by.key,
        role=Role(note.role),
        has_region=bool(note.points) and not note.place_unknown,
        issued=note.issued_at is not None,
        answer=note.answer,
        label=f"{note.line} {note.by.initials}".strip(),
        raised_at=note.raised_at,
    )


def _currents(items: Sequence[Item]) -> dict[tuple[int, Stage], tuple[str, int]]:
    """What an initial must have seen: the current checksum and the text's number."""
    texts = ItemText.objects.filter(item=OuterRef("item")).order_by("-text__number")
    rows = (
        Revision.objects.filter(item__in=items, number__isnull=False)
        .annotate(text_number=Subquery(texts.values("text__number")[:1]))
        .order_by("number")
        .values_list("item", "stage", "sha256", "text_number")
    )
    return {
        (item, Stage(stage)): (sha256, number or 0)
        for item, stage, sha256, number in rows
    }


Live = dict[tuple[int, Stage], dict[Facet, Given]]
Lapsed = dict[tuple[int, Stage], dict[Facet, str]]


def _initials(items: Sequence[Item]) -> tuple[Live, Lapsed]:
    """Live initials, and for facets that lost theirs why."""
    live: Live = defaultdict(dict)
    lapsed: Lapsed = defaultdict(dict)
    rows = (
        Initial.objects.filter(slip__item__in=items)
        .select_related("slip", "person", "principal")
        .prefetch_related("listed")
        .order_by("at", "pk")
    )
    for row in rows:
        place = row.slip.item_id, Stage(row.slip.stage)
        facet = Facet(row.facet)
        if row.ended_at is None:
            live[place][facet] = _given(row)
        else:
            lapsed[place][facet] = row.ended_because
    return live, lapsed


def _given(row: Initial) -> Given:
    return Given(
        key=row.key,
        facet=Facet(row.facet),
        person=row.person.key,
        role=Role(row.role),
        kind=row.kind,
        checksum=row.bound_sha256,
        text_version=row.text_version,
        principal=row.principal.key if row.principal else "",
        listed=frozenset(note.key for note in row.listed.all()),
        checks=frozenset(row.listed_checks),
        at=row.at,
    )


def _holds(items: Sequence[Item]) -> dict[int, list[Held]]:
    found: dict[int, list[Held]] = defaultdict(list)
    rows = Hold.objects.filter(item__in=items, released_at=None)
    for row in rows.select_related("by").order_by("at"):
        found[row.item_id].append(
            Held(row.key, Role(row.role), row.by.key, row.reason, row.at)
        )
    return found


def _uncleared(items: Sequence[Item]) -> dict[int, tuple[SourceFact, ...]]:
    """Sources that still block an OK; only final asks for them."""
    return {
        item: tuple(SourceFact(one.code, one.clearance, one.since) for one in found)
        for item, found in uncleared(items).items()
    }


def _is_final(item: Item) -> bool:
    row = stage_of(item)
    return row is not None and row.stage == Stage.FINAL


def _rulings(items: Iterable[Item]) -> dict[frozenset[str], str]:
    rows = PairRuling.objects.filter(one__item__in=list(items))
    return {
        frozenset({one, other}): ruling
        for one, other, ruling in rows.values_list("one__key", "other__key", "ruling")
    }


def open_slip(item: Item, stage: Stage) -> Slip | None:
    """The slip of the current showing."""
    return Slip.objects.filter(item=item, stage=stage, closed_at=None).first()
