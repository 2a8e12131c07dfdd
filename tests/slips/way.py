"""The way out: from whatever stands, the next act that leads on to OK at final."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from board.books.models import Item
from board.books.rules import STAGES, Stage, Standing
from board.permits import Role
from board.slips.actions import clearances, holds, initials, notes, rulings, stages
from board.slips.models import Hold
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import slate_of
from board.slips.rules.guards import why_not_issue
from board.tissue.models import Note
from tests import make
from tests.slips import wider

if TYPE_CHECKING:
    from tests.slips.walk import Walk

Act = tuple[str, Callable[[], object]]
FURTHER = "further"  # the name it has among a walk's acts
WITH_ARTIST = {Standing.AT_THE_TABLE, Standing.RETURNED}
LOOKED_AT = {Standing.HUNG, Standing.OK_AS_CORRECTED}
REFUSED_ENOUGH = 5  # refusals in a row after which there is no way out
TRIES = 60  # of one act of the whole book, by people who mostly may


def further(walk: "Walk", item: Item) -> Act:
    """The next act on this item and its name; LookupError where it is OK at final."""
    standing = walk.now.standings.get(item.pk, Standing.SHUT.value)
    if standing == Standing.HANDED_OVER:
        raise LookupError
    act = _let_go(walk, item)
    if act is None and standing in WITH_ARTIST:
        act = _with_the_artist(walk, item)
    if act is None and standing in LOOKED_AT:
        act = _asked_for(walk, item)
    return act or _open_next(walk, item, standing)


def _open_next(walk: "Walk", item: Item, standing: str) -> Act:
    """Open the first stage after the open one that is not left out."""
    if standing not in {Standing.SHUT, Standing.OK}:
        raise LookupError
    stage = walk.now.stages.get(item.pk)
    after = STAGES.index(Stage(stage)) + 1 if stage else 0
    left = [one for one in STAGES[after:] if not walk.now.rows[item.pk, one].waived]
    if not left:
        raise LookupError
    by = walk.people[Role.ART_DIRECTOR]
    return "open stage", partial(
        stages.open_stage, by=by, item=item, stage=left[0], event=make.event()
    )


def _let_go(walk: "Walk", item: Item) -> Act | None:
    """Holds are released by their holders; the editor passes on what waits."""
    if item.pk in walk.now.held:
        held = Hold.objects.filter(item=item, released_at=None)[0]
        return "release", partial(
            holds.release, by=held.by, held=held, event=make.event()
        )
    for key, row in walk.now.notes_on(item.pk).items():
        if row.state == "with editor":
            note, editor = Note.objects.get(key=key), walk.people[Role.EDITOR]
            return "pass on", partial(
                notes.pass_on, by=editor, note=note, words="", event=make.event()
            )
    return None


def _with_the_artist(walk: "Walk", item: Item) -> Act:
    for key, row in walk.now.notes_on(item.pk).items():
        if row.blocks and row.issued and not row.answer:
            note, artist = Note.objects.get(key=key), walk.people[Role.ILLUSTRATOR]
            return "answer", partial(
                notes.answer,
                by=artist,
                note=note,
                answer="done",
                words="so",
                event=make.event(),
            )
    return "send up", partial(walk.send_up, item)


def _asked_for(walk: "Walk", item: Item) -> Act | None:
    """What keeps a hung picture from OK: open lines, sources, missing initials."""
    for key, row in walk.now.notes_on(item.pk).items():
        if row.blocks:
            return _open_line(walk, item, key)
    final = walk.now.stages[item.pk] == Stage.FINAL
    checks = walk.now.checks.get(item.pk, "") if final else ""
    if checks.startswith("running"):
        return "checks", partial(wider.checks_pass, walk, item)
    if checks:  # what stopped it is put right
        return "send up", partial(walk.send_up, item)
    if final and item.pk in walk.now.uncleared:
        paper, by = walk.book.clippings.get(), walk.people[Role.RIGHTS]
        return "clearance", partial(
            clearances.change_clearance,
            by=by,
            clipping=paper,
            clearance="granted",
            because="x",
            event=make.event(),
        )
    for line in walk.now.missing(item.pk):
        who, shown = walk.people[line.station], walk.current(item, newest=True)
        return "initial", partial(
            initials.initial,
            by=who,
            item=item,
            facet=line.facet,
            receipt=receipt_for(who, item, shown),
            event=make.event(),
        )
    return None


def _open_line(walk: "Walk", item: Item, key: str) -> Act:
    """Closed where it was answered, sometimes sent out, else withdrawn by its raiser."""
    note = Note.objects.select_related("by").get(key=key)
    if note.answer == Note.Answer.DONE:
        return "close", partial(
            rulings.close, by=note.by, note=note, event=make.event()
        )
    hung = walk.now.standings[item.pk] == Standing.HUNG
    if hung and walk.chance.random() < 0.5:
        slate = slate_of(item)
        if slate is not None and not why_not_issue(slate):
            return "issue", partial(walk.issue, item)
    return "withdraw", partial(
        notes.withdraw, by=note.by, note=note, event=make.event()
    )


class NoWayOut(AssertionError):
    """Invariant 19 did not hold: something keeps the book from the printer for good."""


def lead_out(walk: "Walk") -> None:
    """Bring every item to OK at final, act by act, as the walk takes them."""
    for item in walk.items():
        refused = 0
        while walk.take(FURTHER, item) != FURTHER and refused < REFUSED_ENOUGH:
            refused = 0 if walk.last else refused + 1
        stands = walk.now.stages.get(item.pk), walk.now.standings.get(item.pk)
        if stands != (Stage.FINAL, Standing.OK):
            raise NoWayOut(f"{item.label} is {stands}: {walk.stopped}")


def to_press(walk: "Walk") -> None:
    """From wherever it stands to a book slip that is complete."""
    lead_out(walk)
    for _ in range(TRIES):
        if late := walk.waiting_late():
            walk.take("rule late", late[0])
    walk.take("reading", walk.items()[0])
    _until(walk, "sign book", lambda: walk.now.book_slips.get("final", ("", False))[1])


def to_the_printer(walk: "Walk") -> None:
    """Passed for press, handed over, touched there, recalled, and OK once more."""
    to_press(walk)
    first = walk.items()[0]
    _until(walk, "hand over", lambda: walk.now.standings[first.pk] == "handed over")
    for name in ("clearance", "raise", "send up", "text", "format", "clearance"):
        walk.take(name, walk.items()[1])
    _until(walk, "recall", lambda: walk.now.standings[first.pk] != "handed over")
    lead_out(walk)


def _until(walk: "Walk", name: str, there: Callable[[], bool]) -> None:
    """Try an act of the whole book until it led there."""
    for _ in range(TRIES):
        if there():
            return
        walk.take(name, walk.items()[0])
    if not there():
        raise NoWayOut(f"{name} never came about: {walk.stopped}")
