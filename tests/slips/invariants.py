"""What must hold after every event, whoever did what; numbers as in DEVELOPERS.md.

Common practice put in order, no source: no open standard for a sign-off record exists.
"""

from collections import Counter
from collections.abc import Callable
from datetime import timedelta

from board.books.models import Book, Item
from board.books.rules import STAGES, Stage, Standing
from board.daybook.actions import replayed_at, this_moment
from board.daybook.queries import broken_at
from board.permits import Facet, Role
from board.revisions.models import Revision
from board.slips.models import FormatChange, Initial, Reopening
from board.slips.queries.ledger import ledger_of
from board.slips.queries.lines import slip_lines
from board.slips.queries.receipts import read_receipt
from board.slips.queries.replayed import differs, replay
from board.slips.queries.slates import slate_of, stage_of
from board.tissue.models import Note, NoteSheet
from board.tissue.queries import notes_for, sheet_of
from tests.slips.snapshots import snapshot
from tests.slips.walk import Walk
from tests.slips.wider import OWNER

DONE = {Standing.OK, Standing.OK_AS_CORRECTED}


def i1_an_initial_names_what_was_seen(walk: Walk, item: Item) -> None:
    for given in Initial.objects.filter(slip__item=item).select_related("person"):
        shown = read_receipt(given.receipt, person=given.person, item=item)
        assert (shown.checksum, shown.text_version) == (
            given.seen_sha256,
            given.text_version,
        )
        assert given.bound_sha256
        assert given.facet in list(Facet)
        assert (given.kind == Initial.Kind.CARRIED) == bool(given.justified)


def i2_numbers_run_without_holes(item: Item) -> None:
    for stage in STAGES:
        rows = Revision.objects.filter(item=item, stage=stage, number__isnull=False)
        numbers = list(rows.order_by("number").values_list("number", flat=True))
        assert numbers == list(range(1, len(numbers) + 1))


def i3_no_live_initial_on_a_superseded_revision(item: Item) -> None:
    for given in Initial.objects.filter(slip__item=item, ended_at=None):
        sent = item.revisions.filter(stage=given.slip.stage, number__isnull=False)
        newest = sent.order_by("-number")[0]
        assert given.bound_sha256 == newest.sha256, given.facet


def i4_ok_means_every_line(walk: Walk, item: Item) -> None:
    """Asked anew of the tables, not of the guards that let it come OK."""
    slate = slate_of(item)
    if slate is None or slate.standing not in DONE:
        return
    live = {facet for _, place, stage, facet in snapshot(walk.book).live
            if (place, stage) == (item.pk, slate.stage)}  # fmt: skip
    assert {line.facet.value for line in slate.must} <= live
    asking = Note.objects.filter(
        item=item, stage=slate.stage, sort__in=["direction", "query"], state="open"
    )
    listed = set(
        Note.objects.filter(
            listed_in__ended_at=None, listed_in__slip__item=item
        ).values_list("key", flat=True)
    )
    open_ones = set(asking.values_list("key", flat=True))
    if slate.standing is Standing.OK:
        assert not open_ones
    assert open_ones <= listed


def i5_only_clearance_lives_through_a_new_revision(walk: Walk, item: Item) -> None:
    """And that only with the same source list; a short slip adds carried ones only."""
    stage = walk.before.stages.get(item.pk)
    now = {one for one in snapshot(walk.book).live if one[1:3] == (item.pk, stage)}
    came = {one[0] for one in now - walk.before.live}
    if walk.last == "send up":
        assert {facet for _, _, _, facet in now} <= {"clearance"}
        given = Initial.objects.filter(key__in=came)
        assert all(one.sources == one.justified for one in given)
    if walk.last == "short slip":
        kinds = set(Initial.objects.filter(key__in=came).values_list("kind", flat=True))
        assert kinds <= {Initial.Kind.CARRIED}


def i6_nobody_initials_the_wrong_line(walk: Walk, item: Item) -> None:
    artist = walk.people[Role.ILLUSTRATOR]
    rows = Initial.objects.filter(slip__item=item).select_related("person", "principal")
    for given in rows:
        owner = walk.people[OWNER[given.facet]]
        assert given.person != artist
        assert owner in {given.person, given.principal}
        assert given.principal is None or given.principal != given.person
    if walk.last not in {"initial", "as corrected"}:
        return
    slate = slate_of(item)
    came = snapshot(walk.book).live - walk.before.live
    for _, place, _, facet in came:
        line = slate.line_for(Facet(facet)) if slate and place == item.pk else None
        if slate is not None and line is not None:
            assert slate.before(line) == ()


def i7_notes_are_conserved(walk: Walk, item: Item) -> None:
    states = Counter(
        Note.objects.filter(item__book=walk.book).values_list("state", flat=True)
    )
    assert sum(states.values()) == walk.done["raise"]
    assert set(states) <= set(Note.State.values)
    row = stage_of(item)
    waiting = Note.objects.filter(item=item, state__in=["open", "with editor"])
    if row is not None:
        orders = [STAGES.index(Stage(note.stage)) for note in waiting]
        assert all(order >= row.order for order in orders)


def i8_done_was_claimed_and_closed_by_who_may(walk: Walk, item: Item) -> None:
    artist, editor = walk.people[Role.ILLUSTRATOR], walk.people[Role.EDITOR]
    for note in Note.objects.filter(item=item, state=Note.State.DONE):
        assert note.answer == Note.Answer.DONE
        assert note.answered_by == artist
        closers = {note.by, walk.people[OWNER[note.facet]], note.listed_by}
        if note.role == Role.AUTHOR:
            closers.add(editor)
        assert note.ended_by in closers


def i9_the_artist_sees_issued_notes_only(walk: Walk, item: Item) -> None:
    seen = notes_for(walk.people[Role.ILLUSTRATOR], item)
    assert all(one.note.issued_at for one in seen)
    assert all(one.note.state != Note.State.DECLINED for one in seen)
    author = walk.people[Role.AUTHOR]
    hers = {one.note.pk for one in notes_for(author, item)}
    own = set(Note.objects.filter(item=item, by=author).values_list("pk", flat=True))
    assert own <= hers


def i10_lines_run_without_a_gap(item: Item) -> None:
    for sheet in NoteSheet.objects.filter(item=item):
        lines = list(sheet.lines.order_by("number"))
        assert [line.number for line in lines] == list(range(1, len(lines) + 1))


def i11_stages_open_in_order(item: Item) -> None:
    rows = list(item.stages.order_by("order"))
    opened = [row for row in rows if row.standing != Standing.SHUT]
    for row in opened:
        for earlier in rows[: row.order]:
            assert earlier.waived or earlier.standing in DONE, (
                row.stage,
                earlier.stage,
            )


def i20_nobody_overrules_clearance(walk: Walk, item: Item) -> None:
    ended = Note.objects.filter(
        item=item, facet="clearance", state__in=["stet", "merged"]
    )
    for note in ended:
        assert note.ended_by == walk.people[Role.RIGHTS]


def i21_regions_stay_on_the_bled_sheet(item: Item) -> None:
    across, down = sheet_of(item).bleed
    for note in Note.objects.filter(item=item):
        for x, y in note.points:
            assert -across - 1e-6 <= x <= 1 + across + 1e-6
            assert -down - 1e-6 <= y <= 1 + down + 1e-6


TAKES_OFF = {
    "text": {"story", "words", "fit"},
    "format": {"art", "story", "fit", "press"},
    "clearance": {"clearance"},
}  # the table of what lapses, written down a second time


def i12_exactly_the_facets_of_the_table_fall(walk: Walk, item: Item) -> None:
    if walk.last not in TAKES_OFF:
        return
    gone = walk.before.live - snapshot(walk.book).live
    for key, place, stage, facet in gone:
        assert facet in TAKES_OFF[walk.last], (walk.last, facet, key)
        assert walk.before.stages[place] == stage
        if walk.last == "text":
            assert place == item.pk
        if walk.last == "clearance":
            assert place == walk.book.items.order_by("position")[1].pk
    if walk.last == "format":
        kept = {one for one in walk.before.live - gone if one[3] in TAKES_OFF["format"]}
        lengths = FormatChange.objects.filter(book=walk.book).order_by("pk").last()
        moved = lengths is not None and any(
            lengths.before[name] != lengths.after[name]
            for name in ("trim width", "trim height", "bleed")
        )
        assert not moved or all(walk.before.stages[p] != st for _, p, st, _ in kept)


def i13_a_hold_stops_initials_and_nothing_else(walk: Walk, item: Item) -> None:
    if item.pk not in walk.before.held:
        return
    assert walk.last not in {"initial", "as corrected", "short slip", "deputy"}
    now = snapshot(walk.book).standings.get(item.pk)
    was = walk.before.standings.get(item.pk)
    if now in {"OK", "OK as corrected"} and walk.last != "release":
        assert now == was
    told = " ".join(walk.stopped)
    if "Held by" in told or "The item is held" in told:
        assert walk.tried in {"initial", "as corrected", "short slip", "deputy", "hold"}


def i16_time_alone_makes_no_initial(walk: Walk, item: Item) -> None:
    before = snapshot(walk.book)
    with replayed_at(this_moment() + timedelta(days=400)):
        slip_lines(item, walk.people[Role.EDITOR])
        assert snapshot(walk.book) == before


def i17_the_record_replays(walk: Walk, item: Item) -> None:
    told = replay(walk.book)
    laid = {item.key for item in walk.book.items.all()}
    assert {place for place, _ in told.standings} <= laid
    begun = "thumbnails"  # the walk begins with thumbnails that were OK before it
    wrong = [
        one
        for one in differs(walk.book)
        if f", {begun}: the record says shut" not in one
    ]
    assert wrong == []
    assert broken_at(walk.book.key) is None


def i22_every_alteration_has_code_and_payer(walk: Walk, item: Item) -> None:
    reopened = Reopening.objects.filter(item__book=walk.book, agreed_at__isnull=False)
    formats = FormatChange.objects.filter(book=walk.book)
    coded = walk.book.texts.exclude(code="")
    lines = ledger_of(walk.book)
    assert len(lines) == reopened.count() + formats.count() + coded.count()
    assert all(line.code and line.payer.strip() for line in lines)
    assert walk.done["format"] == formats.count()


def i23_items_cover_every_page_once(walk: Walk, item: Item) -> None:
    book = Book.objects.get(pk=walk.book.pk)
    pages: list[int] = []
    for one in book.items.filter(set_aside=False).order_by("position"):
        if one.first_page:
            pages += range(one.first_page, one.last_page + 1)
            if one.last_page > one.first_page:
                assert one.first_page % 2 == 0
    assert pages == list(range(1, book.extent + 1))


Check = Callable[[Walk, Item], None]
INVARIANTS: dict[int, Check] = {
    1: i1_an_initial_names_what_was_seen,
    2: lambda _, item: i2_numbers_run_without_holes(item),
    3: lambda _, item: i3_no_live_initial_on_a_superseded_revision(item),
    4: i4_ok_means_every_line,
    5: i5_only_clearance_lives_through_a_new_revision,
    6: i6_nobody_initials_the_wrong_line,
    8: i8_done_was_claimed_and_closed_by_who_may,
    9: i9_the_artist_sees_issued_notes_only,
    10: lambda _, item: i10_lines_run_without_a_gap(item),
    11: lambda _, item: i11_stages_open_in_order(item),
    12: i12_exactly_the_facets_of_the_table_fall,
    13: i13_a_hold_stops_initials_and_nothing_else,
    20: i20_nobody_overrules_clearance,
    21: lambda _, item: i21_regions_stay_on_the_bled_sheet(item),
}
IN_THE_END: dict[int, Check] = {
    7: i7_notes_are_conserved,
    16: i16_time_alone_makes_no_initial,
    17: i17_the_record_replays,
    22: i22_every_alteration_has_code_and_payer,
    23: i23_items_cover_every_page_once,
}


class Broken(AssertionError):
    """An invariant that did not hold, by its number."""

    def __init__(self, number: int, walk: Walk, told: object) -> None:
        self.number = number
        super().__init__(f"invariant {number}, seed {walk.seed}, {walk.last}: {told}")


def hold_for(walk: Walk, item: Item) -> None:
    """Every invariant that an event on this item could break."""
    _hold(INVARIANTS, walk, item)


def hold_in_the_end(walk: Walk) -> None:
    """What is dearer to look at: the whole record and the count of notes."""
    for item in Item.objects.filter(book=walk.book).order_by("position")[:3]:
        _hold(IN_THE_END, walk, item)


def _hold(checks: dict[int, Check], walk: Walk, item: Item) -> None:
    item = Item.objects.select_related("book").get(pk=item.pk)
    for number, check in checks.items():
        try:
            check(walk, item)
        except AssertionError as wrong:
            raise Broken(number, walk, wrong) from wrong


def busiest(walk: Walk) -> str:
    """What happened, for people who watch a soak."""
    told = ", ".join(f"{name} {count}" for name, count in walk.done.most_common())
    return f"done: {told}; refused: {sum(walk.refused.values())}"
