"""The walk as a state machine: each step one act of one person, each invariant a check.

What hypothesis chooses is the act, the item and a seed for the rest, so that a walk
that broke something shrinks to its few acts.
"""

import random
from collections.abc import Callable

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from board.books.models import Item
from tests.slips import way
from tests.slips.invariants import NEAR, WHOLE, Broken, Check, hold_for, hold_in_the_end
from tests.slips.walk import WEIGHTS, Walk, new_walk

ACTS = [name for name, weight in WEIGHTS.items() for _ in range(weight)]
NOW_AND_THEN = 20  # events between two looks at whole tables


class SignOff(RuleBasedStateMachine):
    """A board of its own, taken back in the end."""

    events = 0  # of all boards that a run walked
    broke = False

    @initialize()
    def a_board_with_its_sketches_hung(self) -> None:
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.walk = new_walk(0)
        self.item: Item = self.walk.items()[0]

    @rule(
        name=st.sampled_from(ACTS), place=st.integers(0, 4), luck=st.integers(0, 9999)
    )
    def somebody_acts(self, name: str, place: int, luck: int) -> None:
        items = self.walk.items()
        self.item = items[place % len(items)]
        self.walk.chance = random.Random(luck)  # noqa: S311 - chosen by hypothesis
        self.walk.take(name, self.item)

    def teardown(self) -> None:
        """Invariant 19: from wherever it came to there is a way to the printer."""
        if not hasattr(self, "walk"):
            return
        try:
            if not self.broke:
                self.walk.after = hold_for_on(self.walk)
                way.to_the_printer(self.walk)
                hold_in_the_end(self.walk)
        finally:
            SignOff.events += self.walk.events
            transaction.set_rollback(True)
            self.undone.__exit__(None, None, None)


def hold_for_on(walk: Walk) -> Callable[[str, Item], None]:
    """Every invariant after each act of the way out, too."""
    return lambda name, item: hold_for(walk, item)


def _held(number: int, check: Check, *, whole: bool) -> Callable[[SignOff], None]:
    def holds(machine: SignOff) -> None:
        walk = machine.walk
        if whole and walk.events % NOW_AND_THEN:
            return
        try:
            check(walk, machine.item)
        except AssertionError as wrong:
            machine.broke = True
            raise Broken(number, walk, wrong) from wrong

    holds.__name__ = f"invariant_{check.__name__}"
    return holds


for table, dear in ((NEAR, False), (WHOLE, True)):
    for one, looks in table.items():
        named = _held(one, looks, whole=dear)
        setattr(SignOff, named.__name__, invariant()(named))
