"""Deliberate faults in the rules, and the invariant that catches each.

python3 manage.py soak --faults
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any
from unittest.mock import patch

from django.db import transaction

from board.books.models import Book, Item
from board.daybook.rules import Happened
from board.permits import Facet, Role
from board.slips.actions import (
    holds,
    notes,
    rulings,
    stages,
)
from board.slips.queries.receipts import receipt_for
from board.slips.rules.guards import Reason, Why
from board.tissue.models import Note, SheetLine
from tests import make
from tests.slips import way
from tests.slips.acting import Stage
from tests.slips.invariants import WAY_OUT, Broken, hold_for, hold_in_the_end
from tests.slips.snapshots import snapshot
from tests.slips.walk import Walk

R = Role
Anything = Any  # what is patched is of every kind
Wrong = Callable[[Anything], Anything]
EDGE = [[0.0, 0.1], [0.02, 0.2]]


@dataclass(frozen=True)
class Fault:
    """Something made wrong: where, how, what brings it out, and who catches it."""

    name: str
    where: str
    wrong: Wrong
    provoke: Callable[[Stage], object]
    caught_by: int


def without(*whys: Why) -> Wrong:
    """A guard that forgets some of its reasons."""

    def made_wrong(right: Anything) -> Anything:
        def wrong(*args: Anything, **more: Anything) -> list[Reason]:
            return [one for one in right(*args, **more) if one.why not in whys]

        return wrong

    return made_wrong


def always(answer: object) -> Wrong:
    """A question that is always answered alike."""
    return lambda _right: lambda *_args, **_more: answer


def _old_receipt(on: Stage) -> None:
    old = receipt_for(on.who(R.DESIGNER), on.item, on.walk.current(on.item))
    on.send_up()
    on.initial(R.DESIGNER, receipt=old)


def _initial_then_send_up(on: Stage) -> None:
    on.initial(R.DESIGNER)
    on.send_up()


def _all_over_a_direction(on: Stage) -> None:
    on.note(R.PRODUCTION)
    for role in (R.DESIGNER, R.EDITOR, R.ART_DIRECTOR, R.AUTHOR):
        on.initial(role)


def _held_then_initial(on: Stage) -> None:
    by = on.who(R.EDITOR)
    holds.hold(by=by, item=on.item, reason="wait", event=make.event())
    on.initial(R.DESIGNER)


def _three_lines(on: Stage) -> None:
    for role in (R.DESIGNER, R.EDITOR, R.ART_DIRECTOR):
        on.initial(role)


def _lines_then_text(on: Stage) -> None:
    _three_lines(on)
    on.text()


def _lines_then_format(on: Stage) -> None:
    _three_lines(on)
    on.format(trim_width_mm=250.0)


def _open_washes(on: Stage) -> None:
    on.act(
        "open stage",
        lambda: stages.open_stage(
            by=on.who(R.ART_DIRECTOR),
            item=on.item,
            stage="washes",
            event=make.event(),
        ),
    )


def _issued(on: Stage) -> Note:
    note = on.note(R.DESIGNER)
    on.issue()
    return note


def _closed_by_production(on: Stage) -> None:
    note = _issued(on)
    notes.answer(
        by=on.who(R.ILLUSTRATOR), note=note, answer="done", words="", event=make.event()
    )
    by = on.who(R.PRODUCTION)
    on.act("close", lambda: rulings.close(by=by, note=note, event=make.event()))


def _stet_by_the_editor(on: Stage) -> None:
    note, by = on.note(R.RIGHTS), on.who(R.EDITOR)
    on.act(
        "stet",
        lambda: rulings.stet(by=by, note=note, ruling="fine", event=make.event()),
    )


def _narrower(on: Stage) -> None:
    on.note(R.DESIGNER, EDGE)
    on.format(trim_width_mm=200.0, bleed_mm=0.0)


def _withdrawn(on: Stage) -> None:
    note = on.note(R.DESIGNER)
    by = note.by
    on.act("withdraw", lambda: notes.withdraw(by=by, note=note, event=make.event()))


def _skips(right: Anything) -> Anything:
    def wrong(*args: Anything, **more: Anything) -> Anything:
        sheet = right(*args, **more)
        SheetLine.objects.filter(sheet=sheet, number=1).update(number=9)
        return sheet

    return wrong


def _two_on(right: Anything) -> Anything:
    def wrong(revision: Anything, **more: Anything) -> Anything:
        right(revision, **more)
        revision.number += 1
        revision.save()
        return revision

    return wrong


def _nobody_pays(right: Anything) -> Anything:
    def wrong(*args: Anything) -> Anything:
        *some, reasons, event = args
        return right(*some, {**reasons, "payer": " "}, event)

    return wrong


def _forgets_moves(right: Anything) -> Anything:
    def wrong(self: Anything, happened: Happened, page: Anything) -> None:
        if happened is not Happened.STANDING_MOVED:
            right(self, happened, page)

    return wrong


def _only_old_places(right: Anything) -> Anything:
    def wrong(book: Book, places: Anything) -> None:
        right(book, [one for one in places if one.name is not None])

    return wrong


def _thrown_away(_right: Anything) -> Anything:
    def wrong(note: Note, *_args: Anything, **_more: Anything) -> None:
        Note.objects.filter(pk=note.pk).delete()

    return wrong


def _only_fit(_right: Anything) -> Anything:
    return lambda facet, _change: facet is Facet.FIT


def _as_given(_right: Anything) -> Anything:
    return lambda points, _sheet: (list(points), False)


def _held_for_good(on: Stage) -> None:
    by = on.who(R.RIGHTS)
    holds.hold(by=by, item=on.item, reason="wait", event=make.event())
    on.walk.now = snapshot(on.walk.book)
    way.lead_out(on.walk)


def _passed_then_pulled(on: Stage) -> None:
    """Passed for press, then an initial is pulled."""
    way.to_press(on.walk)
    on.walk.take("pull", on.item)


def _only_the_first(right: Anything) -> Anything:
    return lambda book: right(book)[:1]


ACTIONS = "board.slips.actions"
GUARD = f"{ACTIONS}.initials.why_not_initial"
FAULTS = (
    Fault("an initial takes any receipt", GUARD,
          without(Why.OTHER_PICTURE), _old_receipt, 1),
    Fault("numbers run with holes", f"{ACTIONS}.stages.number_it",
          _two_on, lambda on: on.send_up(), 2),
    Fault("a new revision leaves initials", f"{ACTIONS}.stages.lapses",
          always(False), _initial_then_send_up, 3),  # noqa: FBT003
    Fault("OK comes over an open direction", f"{ACTIONS}.locked.why_not_ok",
          without(Why.OPEN_NOTE), _all_over_a_direction, 4),
    Fault("anybody initials any line", f"{ACTIONS}.initials.facets_of",
          always(tuple(Facet)), lambda on: on.initial(R.EDITOR, "fit"), 6),
    Fault("no group is waited for", GUARD,
          without(Why.EARLIER_GROUP), lambda on: on.initial(R.ART_DIRECTOR), 6),
    Fault("a withdrawn note is thrown away", f"{ACTIONS}.notes.end",
          _thrown_away, _withdrawn, 7),
    Fault("anybody closes a line", f"{ACTIONS}.rulings.may_close",
          always(True), _closed_by_production, 8),  # noqa: FBT003
    Fault("the artist reads what waits", "board.tissue.queries.may_see_note",
          always(True), lambda on: on.note(R.AUTHOR), 9),  # noqa: FBT003
    Fault("a note sheet skips a number", f"{ACTIONS}.sheets.issue",
          _skips, _issued, 10),
    Fault("a stage opens over an unfinished one", f"{ACTIONS}.stages._stop_opening",
          always(None), _open_washes, 11),
    Fault("new words take the art line off", f"{ACTIONS}.falling.lapses",
          always(True), _lines_then_text, 12),  # noqa: FBT003
    Fault("a format leaves the art line", f"{ACTIONS}.falling.lapses",
          _only_fit, _lines_then_format, 12),
    Fault("a hold stops nothing", GUARD, without(Why.HELD), _held_then_initial, 13),
    Fault("a standing moves past the record", f"{ACTIONS}.locked.Locked.follows",
          _forgets_moves, _issued, 17),
    Fault("anybody overrules clearance", f"{ACTIONS}.rulings.owns_facet",
          always(True), _stet_by_the_editor, 20),  # noqa: FBT003
    Fault("marks fall off the sheet", "board.tissue.actions.within",
          _as_given, _narrower, 21),
    Fault("nobody pays for a format", f"{ACTIONS}.formats._keep",
          _nobody_pays, lambda on: on.format(bleed_mm=4.0), 22),
    Fault("an extent leaves pages out", "board.books.actions.formats.write_places",
          _only_old_places, lambda on: on.format(extent=12), 23),
    Fault("nobody lets go of a hold", f"{ACTIONS}.holds.may_release",
          always(False), _held_for_good, 19),  # noqa: FBT003
)  # fmt: skip
FAR = (
    Fault(
        "a book slip outlives its list",
        f"{ACTIONS}.locked.lapse_book_slips",
        always(None),
        _passed_then_pulled,
        14,
    ),
    Fault(
        "one item alone is handed over",
        f"{ACTIONS}.books.items_of_book",
        _only_the_first,
        lambda on: way.to_the_printer(on.walk),
        15,
    ),
)  # fmt: skip - these walk the whole way to the printer first


def caught(fault: Fault, walk: Walk) -> int:
    """The number of the invariant that catches the fault; 0 when none does."""
    kept, stood = Counter(walk.done), walk.now
    walk.after = lambda name, item: hold_for(walk, item)
    owner, name = fault.where.rsplit(".", 1)
    place = _found(owner)
    found = 0
    try:
        with transaction.atomic():
            item = Item.objects.filter(book=walk.book).order_by("position")[0]
            with patch.object(place, name, fault.wrong(getattr(place, name))):
                try:
                    fault.provoke(Stage(walk, item))
                    hold_for(walk, item)
                    hold_in_the_end(walk)
                except Broken as broken:
                    found = broken.number
                except way.NoWayOut:
                    found = WAY_OUT
            transaction.set_rollback(True)
    finally:
        walk.done, walk.now, walk.sheets = kept, stood, {}
    return found


def _found(dotted: str) -> Anything:
    """A module, or a class in one."""
    try:
        return import_module(dotted)
    except ModuleNotFoundError:
        module, name = dotted.rsplit(".", 1)
        return getattr(import_module(module), name)


def run(walk: Walk) -> list[str]:
    """Every fault with what caught it, as lines."""
    lines = []
    for fault in (*FAULTS, *FAR):
        number = caught(fault, walk)
        well = "caught" if number == fault.caught_by else "NOT CAUGHT AS TOLD"
        lines.append(f"{well} by {number:>2}: {fault.name} ({fault.where})")
    return lines
