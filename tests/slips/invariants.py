"""What must hold after every event, whoever did what; numbers as in DEVELOPERS.md.

Common practice put in order, no source: no open standard for a sign-off record exists.
"""

from collections import Counter

from board.books.models import Book, Item
from board.books.rules import STAGES, Standing
from board.permits import Facet, Role
from board.revisions.models import Revision
from board.slips.models import Initial
from board.slips.queries.replayed import differs
from board.slips.queries.slates import slate_of
from board.slips.rules.guards import why_not_ok, why_not_ok_as_corrected
from board.tissue.models import Note, NoteSheet
from board.tissue.queries import notes_for, sheet_of
from tests.slips.walk import Walk

DONE = {Standing.OK, Standing.OK_AS_CORRECTED}


def i1_an_initial_names_what_was_seen(item: Item) -> None:
    for given in Initial.objects.filter(slip__item=item):
        assert given.seen_sha256
        assert given.bound_sha256
        assert given.receipt
        assert given.facet in list(Facet)


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


def i4_ok_means_every_line(item: Item) -> None:
    slate = slate_of(item)
    if slate is None:
        return
    if slate.standing is Standing.OK:
        rest = [one for one in why_not_ok(slate) if one.held is None]
        assert rest == []
    if slate.standing is Standing.OK_AS_CORRECTED:
        rest = [one for one in why_not_ok_as_corrected(slate) if one.held is None]
        assert rest == []


def i5_only_clearance_lives_through_a_new_revision(item: Item, name: str) -> None:
    slate = slate_of(item)
    if name != "send up" or slate is None or slate.standing is not Standing.HUNG:
        return
    newest = item.slips.filter(closed_at=None, stage=slate.stage).first()
    if newest and newest.initials.count() == len(slate.live):
        assert set(slate.live) <= {Facet.CLEARANCE}


def i6_nobody_initials_the_wrong_line(walk: Walk, item: Item) -> None:
    artist = walk.people[Role.ILLUSTRATOR]
    assert not Initial.objects.filter(slip__item=item, person=artist).exists()
    slate = slate_of(item)
    if slate is not None and slate.standing in DONE:
        assert not slate.missing()


def i7_notes_are_conserved(book: Book, raised: int) -> None:
    states = Counter(
        Note.objects.filter(item__book=book).values_list("state", flat=True)
    )
    assert sum(states.values()) == raised
    assert set(states) <= set(Note.State.values)


def i8_done_was_claimed_by_the_artist(walk: Walk, item: Item) -> None:
    artist = walk.people[Role.ILLUSTRATOR]
    for note in Note.objects.filter(item=item, state=Note.State.DONE):
        assert note.answer == Note.Answer.DONE
        assert note.answered_by == artist
        assert note.ended_by != artist


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


def hold_for(walk: Walk, item: Item, name: str) -> None:
    """Every invariant that an event on this item could break."""
    i1_an_initial_names_what_was_seen(item)
    i2_numbers_run_without_holes(item)
    i3_no_live_initial_on_a_superseded_revision(item)
    i4_ok_means_every_line(item)
    i5_only_clearance_lives_through_a_new_revision(item, name)
    i6_nobody_initials_the_wrong_line(walk, item)
    i8_done_was_claimed_by_the_artist(walk, item)
    i9_the_artist_sees_issued_notes_only(walk, item)
    i10_lines_run_without_a_gap(item)
    i11_stages_open_in_order(item)
    i20_nobody_overrules_clearance(walk, item)
    i21_regions_stay_on_the_bled_sheet(item)


def hold_in_the_end(walk: Walk) -> None:
    """What is dearer to look at: the whole record and the count of notes."""
    i7_notes_are_conserved(walk.book, walk.done["raise"])
    wrong = [told for told in differs(walk.book) if "thumbnails" not in told]
    assert wrong == []  # 17: the record replays to the same standing


def busiest(walk: Walk) -> str:
    """What happened, for people who watch a soak."""
    told = ", ".join(f"{name} {count}" for name, count in walk.done.most_common())
    return f"done: {told}; refused: {sum(walk.refused.values())}"
