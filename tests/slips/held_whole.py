"""Invariants that look at whole tables and the whole record of a walk's book."""

from datetime import timedelta

from board.books.models import Book, Item
from board.daybook.actions import replayed_at, this_moment
from board.daybook.queries import broken_at
from board.permits import Facet, Role
from board.slips.models import FormatChange, Initial, Reopening
from board.slips.queries.ledger import ledger_of
from board.slips.queries.lines import slip_lines
from board.slips.queries.receipts import read_receipt
from board.slips.queries.replayed import differs, replay
from board.tissue.models import Note, NoteSheet
from board.tissue.queries import notes_for, sheet_of
from tests.slips.snapshots import snapshot
from tests.slips.walk import Walk


def i1_an_initial_names_what_was_seen(walk: Walk, item: Item) -> None:
    for given in Initial.objects.filter(slip__item=item).select_related("person"):
        shown = read_receipt(given.receipt, person=given.person, item=item)
        assert (shown.checksum, shown.text_version) == (
            given.seen_sha256,
            given.text_version,
        )
        assert given.bound_sha256
        assert given.facet in list(Facet)
        assert given.role
        assert (given.kind == Initial.Kind.CARRIED) == bool(given.justified)


def i9_the_artist_sees_issued_notes_only(walk: Walk, item: Item) -> None:
    seen = notes_for(walk.people[Role.ILLUSTRATOR], item)
    assert all(one.note.issued_at for one in seen)
    assert all(one.note.state != Note.State.DECLINED for one in seen)
    author = walk.people[Role.AUTHOR]
    hers = {one.note.pk for one in notes_for(author, item)}
    own = set(Note.objects.filter(item=item, by=author).values_list("pk", flat=True))
    assert own <= hers


def i10_lines_run_without_a_gap(walk: Walk, item: Item) -> None:
    """And a sheet, once issued, stays as it is."""
    for sheet in NoteSheet.objects.filter(item=item):
        lines = list(sheet.lines.order_by("number").values_list("number", "note__key"))
        assert [number for number, _ in lines] == list(range(1, len(lines) + 1))
        assert walk.sheets.setdefault(sheet.key, lines) == lines


def i16_time_alone_makes_no_initial(walk: Walk, item: Item) -> None:
    with replayed_at(this_moment() + timedelta(days=400)):
        slip_lines(item, walk.people[Role.EDITOR])
        assert snapshot(walk.book).live == walk.now.live


def i17_the_record_replays(walk: Walk, item: Item) -> None:
    if item.pk != walk.now.order[0][0]:
        return  # once is enough: it looks at the whole book
    told = replay(walk.book)
    laid = {item.key for item in walk.book.items.all()}
    assert {place for place, _ in told.standings} <= laid
    assert differs(walk.book) == []
    assert broken_at(walk.book.key) is None


def i21_regions_stay_on_the_bled_sheet(walk: Walk, item: Item) -> None:
    across, down = sheet_of(item).bleed
    for note in Note.objects.filter(item=item):
        assert note.points or note.place_unknown
        for x, y in note.points:
            assert -across - 1e-6 <= x <= 1 + across + 1e-6
            assert -down - 1e-6 <= y <= 1 + down + 1e-6


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
