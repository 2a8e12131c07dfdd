"""The agenda: what must be talked about, as each reader may know, and what changed."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.rules import Standing
from board.continuity.queries import unexplained
from board.daybook.rules import Happened
from board.permits import is_house
from board.revisions.models import Revision
from board.revisions.queries import called, currents
from board.sittings.models import Sitting, SittingItem
from board.sittings.queries import listed, sitting_before
from board.slips.models import Refusal
from board.slips.queries.events import Event, Record
from board.slips.queries.sentences import Knows, knows
from board.slips.queries.slates import slates_of, stage_of
from board.slips.rules.slate import Slate
from board.tissue.queries.asking import unasked_counts

SOONEST = 3  # so many of the nearest due days are talked about
DONE = frozenset({Standing.OK, Standing.OK_AS_CORRECTED, Standing.HANDED_OVER})
MOVED = frozenset(
    {
        Happened.SENT_UP,
        Happened.STANDING_MOVED,
        Happened.TEXT_MADE,
        Happened.HELD,
        Happened.RELEASED,
        Happened.SHEET_ISSUED,
        Happened.CLEARANCE_CHANGED,
        Happened.REOPENED,
    }
)


@dataclass(frozen=True)
class Line:
    """One item on the agenda, with why it is talked about."""

    row: SittingItem
    stage: ItemStage | None
    held: bool
    shown: Revision | None
    reasons: tuple[str, ...]

    @property
    def item(self) -> Item:
        return self.row.item

    @property
    def called(self) -> str:
        return called(self.shown) if self.shown else "nothing up yet"


@dataclass(frozen=True)
class Changed:
    """What happened on one item since the last sitting, in sentences."""

    label: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Agenda:
    """What to talk about, what needs no talk, and what changed since last time."""

    talk: tuple[Line, ...]
    quiet: tuple[Line, ...]
    since: Sitting | None
    changed: tuple[Changed, ...]


def agenda_for(person: Person, sitting: Sitting) -> Agenda:
    """The agenda as this reader may know it, in a number of queries that is fixed."""
    to = knows(person, sitting.book)
    lines = lines_for(to, sitting)
    before = sitting_before(sitting)
    return Agenda(
        talk=tuple(line for line in lines if line.reasons),
        quiet=tuple(line for line in lines if not line.reasons),
        since=before,
        changed=tuple(_changed(to, before)) if before else (),
    )


def lines_for(to: Knows, sitting: Sitting) -> list[Line]:
    """Every listed item with its reasons."""
    rows = listed(sitting)
    shown, items = _shown(sitting, rows), _with_stages(rows)
    slates = slates_of(sitting.book, list(items.values()))
    why = _Why(to, sitting.book, list(items.values()), shown)
    return [
        Line(
            row=row,
            stage=stage_of(items[row.item_id]),
            held=bool(slates[row.item_id].holds) if row.item_id in slates else False,
            shown=shown.get(row.item_id),
            reasons=tuple(why.of(items[row.item_id], slates.get(row.item_id))),
        )
        for row in rows
    ]


def reasons_on(
    person: Person, sitting: Sitting, rows: list[SittingItem], item_key: str
) -> tuple[str, ...]:
    """Why this reader talks about one item of the list; `rows` are the whole list."""
    row = next((row for row in rows if row.item.key == item_key), None)
    if row is None:
        return ()
    items, shown = _with_stages(rows), _shown(sitting, [row])
    slates = slates_of(sitting.book, [items[row.item_id]])
    to = knows(person, sitting.book)
    why = _Why(to, sitting.book, list(items.values()), shown)
    return tuple(why.of(items[row.item_id], slates.get(row.item_id)))


def _with_stages(rows: Iterable[SittingItem]) -> dict[int, Item]:
    found = Item.objects.filter(pk__in=[row.item_id for row in rows])
    stages = ItemStage.objects.order_by("order")
    return {
        item.pk: item
        for item in found.prefetch_related(Prefetch("stages", queryset=stages))
    }


def _shown(sitting: Sitting, rows: Iterable[SittingItem]) -> dict[int, Revision]:
    """What was frozen, or before the sitting what is current."""
    if sitting.opened_at:
        return {row.item_id: row.revision for row in rows if row.revision}
    return currents(sitting.book)


class _Why:
    """Reasons to talk, fetched once for all items."""

    def __init__(
        self, to: Knows, book: Book, items: list[Item], shown: dict[int, Revision]
    ) -> None:
        self.to = to
        self.refused = _refused(items)
        self.odd: dict[int, list[str]] = defaultdict(list)
        for one in unexplained(book):
            self.odd[one.item.pk].append(
                f"continuity: {one.thing} is {one.value}, elsewhere {one.usual}"
            )
        self.soonest = _soonest(items)
        self.unasked = unasked_counts(to.person, book, shown)

    def of(self, item: Item, slate: Slate | None) -> Iterable[str]:
        row = stage_of(item)
        if slate is None or row is None:
            return
        if is_house(self.to.roles):
            yield from self._in_the_house(item, slate, row)
        queries = [
            note
            for note in slate.notes
            if note.sort == "query" and note.blocks and self.to.may_see(note)
        ]
        if queries:
            yield _some(len(queries), "open query", "open queries")
        unasked = self.unasked.get(item.pk, 0)
        if unasked:
            yield _some(unasked, "change", "changes") + " nobody asked for"
        yield from self.odd.get(item.pk, ())
        if row.due and row.due in self.soonest and Standing(row.standing) not in DONE:
            yield f"due {row.due.day} {row.due:%B}"

    def _in_the_house(self, item: Item, slate: Slate, row: ItemStage) -> Iterable[str]:
        """Refusals and clashes are the house's until the note sheet is out."""
        who = self.refused.get((item.pk, row.stage))
        if who:
            yield f"refused by {', '.join(who)}"
        pairs = slate.unruled_pairs + slate.open_clashes
        if pairs:
            yield _some(pairs, "clash", "clashes")


def _refused(items: list[Item]) -> dict[tuple[int, str], list[str]]:
    """Who refused on the open slips."""
    found: dict[tuple[int, str], list[str]] = defaultdict(list)
    rows = Refusal.objects.filter(slip__item__in=items, slip__closed_at=None)
    for refusal in rows.select_related("slip", "person").order_by("at"):
        who = f"{refusal.person.initials} ({refusal.facet})"
        found[refusal.slip.item_id, refusal.slip.stage].append(who)
    return found


def _soonest(items: list[Item]) -> frozenset[date]:
    """The nearest due days among items that are not done."""
    rows = [stage_of(item) for item in items]
    days = {
        row.due
        for row in rows
        if row and row.due and Standing(row.standing) not in DONE
    }
    return frozenset(sorted(days)[:SOONEST])


def _changed(to: Knows, before: Sitting) -> list[Changed]:
    """What this reader could learn of since the last sitting, by item."""
    record = Record(to.book)
    events, _ = record.told(to.person, to.roles, since=0, limit=len(record.rows))
    labels = dict(to.book.items.order_by("position").values_list("key", "label"))
    closed = before.closed_at
    said: dict[str, list[Event]] = defaultdict(list)
    for event in events:
        if closed and event.at > closed and event.item:
            said[event.item].append(event)
    return [
        Changed(label, tuple(_told(said[key])))
        for key, label in labels.items()
        if any(_told(said[key]))
    ]


def _told(events: list[Event]) -> list[str]:
    told = [event.sentence for event in events if event.kind in MOVED]
    counts = Counter(event.kind for event in events)
    if counts[Happened.NOTE_RAISED]:
        told.append(_some(counts[Happened.NOTE_RAISED], "note", "notes") + " raised")
    if counts[Happened.CLOSED]:
        told.append(_some(counts[Happened.CLOSED], "note", "notes") + " closed")
    if counts[Happened.INITIALLED]:
        told.append(
            _some(counts[Happened.INITIALLED], "initial", "initials") + " given"
        )
    return list(dict.fromkeys(told))


def _some(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"
