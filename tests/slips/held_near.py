"""Invariants held after each event, on plain values from before it and from now."""

from board.books.models import Item
from board.books.rules import STAGES, Stage, Standing
from board.permits import Facet, Role
from board.slips.models import FormatChange, Initial
from board.slips.rules.book import Listed, hash_of
from board.slips.rules.stations import Asked
from board.tissue.models import Note, NoteSheet
from tests.slips.snapshots import Snapshot
from tests.slips.walk import Walk
from tests.slips.wider import OWNER

DONE = {Standing.OK, Standing.OK_AS_CORRECTED}
ON_WORDS = {"story", "words", "fit"}  # facets that are bound to the text version
BOOK_WIDE = {"text", "format", "clearance", "stations", "hand over", "recall"}


def i2_numbers_run_and_bytes_stay(walk: Walk, item: Item) -> None:
    for stage in STAGES:
        found = [n for i, s, n in walk.now.revisions if (i, s) == (item.pk, stage)]
        assert sorted(found) == list(range(1, len(found) + 1))
    assert walk.before.revisions.items() <= walk.now.revisions.items()


def i3_no_live_initial_on_a_superseded_revision(walk: Walk, item: Item) -> None:
    for key, place, stage, facet in walk.now.live:
        assert walk.now.bound[key][0] == walk.now.newest(place, stage), facet


def i4_ok_means_every_line(walk: Walk, item: Item) -> None:
    """Asked anew of the tables, not of the guards that let it come OK."""
    stage, standing = walk.now.stages.get(item.pk), walk.now.standings.get(item.pk)
    if stage is None or standing not in DONE:
        return
    live = {facet: key for key, place, st, facet in walk.now.live
            if (place, st) == (item.pk, stage)}  # fmt: skip
    must = {line.facet for line in walk.now.lines[stage] if line.asked is Asked.MUST}
    if walk.last != "stations":  # what is asked later takes no OK off
        assert must <= set(live) or not _just_came(walk, item)
    if (stage, standing) == (Stage.FINAL, Standing.OK):
        assert item.pk not in walk.now.uncleared, "OK over an uncleared source"
        if _just_came(walk, item) and walk.last != "recall":
            assert item.pk not in walk.now.checks, "OK over its checks"
    for facet in ON_WORDS & set(live):
        assert walk.now.bound[live[facet]][1] == walk.now.texts.get(item.pk, 0)
    asking = {
        key
        for key, note in walk.now.notes.items()
        if (note.item, note.stage) == (item.pk, stage) and note.blocks
    }
    assert standing != Standing.OK or not asking
    assert asking <= walk.now.listed


def _just_came(walk: Walk, item: Item) -> bool:
    return walk.now.standings[item.pk] != walk.before.standings.get(item.pk)


def i5_only_clearance_lives_through_a_new_revision(walk: Walk, item: Item) -> None:
    """And that only with the same source list; a short slip adds carried ones only."""
    stage = walk.before.stages.get(item.pk)
    now = {one for one in walk.now.live if one[1:3] == (item.pk, stage)}
    came = {one[0] for one in now - walk.before.live}
    if walk.last == "send up":
        assert {facet for _, _, _, facet in now} <= {"clearance"}
        given = Initial.objects.filter(key__in=came)
        assert all(one.sources == one.justified for one in given)
    if walk.last == "short slip":
        kinds = set(Initial.objects.filter(key__in=came).values_list("kind", flat=True))
        assert kinds <= {Initial.Kind.CARRIED}


def i6_nobody_initials_the_wrong_line(walk: Walk, item: Item) -> None:
    came = walk.now.live - walk.before.live
    rows = Initial.objects.filter(key__in=[one[0] for one in came]) if came else []
    artist = walk.people[Role.ILLUSTRATOR].pk
    for given in rows:
        owner = walk.people[OWNER[given.facet]].pk
        assert given.person_id != artist
        assert owner in {given.person_id, given.principal_id}
        assert given.principal_id is None or given.principal_id != given.person_id
    if walk.last not in {"initial", "as corrected"}:
        return
    for _, place, stage, facet in came:
        lines = {line.facet.value: line for line in walk.now.lines[stage]}
        live = {one[3] for one in walk.now.live if one[1:3] == (place, stage)}
        for line in lines.values():
            if line.asked is Asked.MUST and 0 < line.group < lines[facet].group:
                assert line.facet.value in live, (facet, line.facet)


def i7_notes_are_conserved(walk: Walk, item: Item) -> None:
    assert len(walk.now.notes) == walk.done["raise"]
    assert walk.before.notes.keys() <= walk.now.notes.keys()
    assert {note.state for note in walk.now.notes.values()} <= set(Note.State.values)
    stage = walk.now.stages.get(item.pk)
    if stage is None:
        return
    for note in walk.now.notes.values():
        if note.item == item.pk and note.state in {"open", "with editor"}:
            assert STAGES.index(Stage(note.stage)) >= STAGES.index(Stage(stage))


def _changed(walk: Walk, *states: str) -> list[str]:
    """Notes that came into one of these states by the last event."""
    return [
        key
        for key, note in walk.now.notes.items()
        if note.state in states
        and (key not in walk.before.notes or walk.before.notes[key].state != note.state)
    ]


def i8_done_was_claimed_and_closed_by_who_may(walk: Walk, item: Item) -> None:
    done = _changed(walk, "done")
    for note in Note.objects.filter(key__in=done) if done else []:
        assert note.answer == Note.Answer.DONE
        assert note.answered_by_id == walk.people[Role.ILLUSTRATOR].pk
        owner = walk.people[OWNER[note.facet]].pk
        closers = {note.by_id, owner, note.listed_by_id}
        if note.role == Role.AUTHOR:
            closers.add(walk.people[Role.EDITOR].pk)
        assert note.ended_by_id in closers


def i10_a_sheet_carries_what_was_open(walk: Walk, item: Item) -> None:
    """Of a hung item all open notes and keeps of its stage; none leaves over a query."""
    if walk.last != "issue":
        return
    stage = walk.before.stages[item.pk]
    here = {
        key: note
        for key, note in walk.before.notes.items()
        if (note.item, note.stage) == (item.pk, stage)
    }
    assert not [one for one in here.values() if one.state == "with editor"]
    sheet = NoteSheet.objects.filter(item=item).order_by("-pk")[0]
    lines = set(sheet.lines.values_list("note__key", flat=True))
    if walk.before.standings[item.pk] == Standing.HUNG:
        assert {
            k for k, one in here.items() if one.state in {"open", "stands"}
        } <= lines


def i11_stages_open_in_order(walk: Walk, item: Item) -> None:
    rows = [walk.now.rows[item.pk, stage] for stage in STAGES]
    for row in rows:
        if row.standing != Standing.SHUT:
            for earlier in rows[: row.order]:
                assert earlier.waived or earlier.standing in DONE, row


TAKES_OFF = {
    "text": {"story", "words", "fit"},
    "format": {"art", "story", "fit", "press"},
    "clearance": {"clearance"},
}  # the table of what lapses, written down a second time


def i12_exactly_the_facets_of_the_table_fall(walk: Walk, item: Item) -> None:
    if walk.last not in TAKES_OFF:
        return
    gone = walk.before.live - walk.now.live
    for key, place, stage, facet in gone:
        assert facet in TAKES_OFF[walk.last], (walk.last, facet, key)
        assert walk.before.stages[place] == stage
        if walk.last == "text":
            assert place == item.pk
        if walk.last == "clearance":
            assert place == walk.book.items.order_by("position")[1].pk
    if walk.last == "text":
        kept = walk.before.live - gone
        stage_now = walk.before.stages.get(item.pk)
        assert not [one for one in kept if one[1:3] == (item.pk, stage_now)
                    and one[3] in ON_WORDS]  # fmt: skip
    if walk.last == "format":
        left = {one for one in walk.before.live - gone if one[3] in TAKES_OFF["format"]}
        lengths = FormatChange.objects.filter(book=walk.book).order_by("pk").last()
        moved = lengths is not None and any(
            lengths.before[name] != lengths.after[name]
            for name in ("trim width", "trim height", "bleed")
        )
        aside = set(walk.before.stages) - {pk for pk, _ in walk.now.order}
        left = {one for one in left if one[1] not in aside}
        assert not moved or all(walk.before.stages[p] != st for _, p, st, _ in left)


def i13_a_hold_stops_initials_and_nothing_else(walk: Walk, item: Item) -> None:
    told = " ".join(walk.stopped)
    stopped = {"initial", "as corrected", "short slip", "deputy", "late arrival"}
    if item.pk not in walk.before.held or walk.tried in BOOK_WIDE | {"sign book"}:
        assert walk.last != "hand over" or not walk.before.held
        return
    assert walk.last not in stopped
    now = walk.now.standings.get(item.pk)
    if now in DONE and walk.last != "release":
        assert now == walk.before.standings.get(item.pk)
    if "Held by" in told or "The item is held" in told:
        assert walk.tried in stopped | {"hold"}


def _listing(shot: Snapshot, stage: str) -> str:
    """The list's hash, reckoned from the tables a second time."""
    return hash_of(
        [Listed(key, shot.newest(pk, stage), shot.texts.get(pk, 0))
         for pk, key in shot.order]
    )  # fmt: skip


def i14_a_book_slip_lives_on_its_list_alone(walk: Walk, item: Item) -> None:
    """Nothing that moves an item leaves it; a hold leaves it and stops the hand-over."""
    for stage, (found, _) in walk.now.book_slips.items():
        assert found == _listing(walk.now, stage), stage
        good = {Standing.OK, Standing.HANDED_OVER}
        if stage == Stage.SKETCH:
            good |= {Standing.OK_AS_CORRECTED}
        for pk, _ in walk.now.order:
            assert walk.now.stages[pk] == stage
            assert walk.now.standings[pk] in good
    if walk.last in {"hold", "release"}:
        assert walk.now.book_slips == walk.before.book_slips
    if walk.last == "recall":
        assert not walk.now.book_slips


def i15_handed_over_whole_and_left_by_recall_alone(walk: Walk, item: Item) -> None:
    now = {
        walk.now.standings.get(pk) == Standing.HANDED_OVER for pk, _ in walk.now.order
    }
    assert len(now) == 1, "some handed over, some not"
    before = Standing.HANDED_OVER in walk.before.standings.values()
    if before and now != {True}:
        assert walk.last == "recall"
    if now == {True} and not before:
        assert walk.last == "hand over"
        for pk, _ in walk.before.order:
            assert walk.before.stages[pk] == Stage.FINAL
            assert walk.before.standings[pk] == Standing.OK
        assert walk.before.book_slips["final"][1]
        assert not walk.before.uncleared & {pk for pk, _ in walk.before.order}


def i18_an_event_happens_wholly_or_not_at_all(walk: Walk, item: Item) -> None:
    """What is refused moved nothing; a station has one live initial at the most."""
    places = [one[1:] for one in walk.now.live]
    assert len(places) == len(set(places))
    if not walk.last and walk.tried not in {"late arrival", "deputy"}:
        assert walk.now == walk.before
    assert walk.last != "late arrival", "an initial for the picture before was taken"


def i20_nobody_overrules_clearance(walk: Walk, item: Item) -> None:
    """Every ruling keeps the ruled note's words, too."""
    for key in _changed(walk, "stet", "merged"):
        note = walk.now.notes[key]
        if note.facet == Facet.CLEARANCE:
            assert note.ended_by == walk.people[Role.RIGHTS].pk
        assert note.words == walk.before.notes[key].words
