"""The invariants, each under its number, held against random walks; seeds are printed."""

import pytest

from tests.slips.faults import FAULTS, caught
from tests.slips.invariants import (
    IN_THE_END,
    INVARIANTS,
    Broken,
    busiest,
    hold_for,
    hold_in_the_end,
)
from tests.slips.walk import Walk, new_walk

BY_WALKING = sorted([*INVARIANTS, *IN_THE_END])


def walked(seed: int, events: int) -> tuple[Walk, Broken | None]:
    """A walk of so many events, or until an invariant did not hold."""
    walk = new_walk(seed)
    walk.after = lambda name, item: hold_for(walk, item)
    try:
        for _ in range(events):
            walk.step()
        hold_in_the_end(walk)
    except Broken as broken:
        return walk, broken
    return walk, None


def test_each_invariant_holds_on_a_short_walk(
    db: None, subtests: pytest.Subtests
) -> None:
    walk, broken = walked(7, 60)
    for number in BY_WALKING:
        with subtests.test(f"invariant {number}"):
            fell = broken is not None and broken.number == number
            assert not fell, f"{broken}; {busiest(walk)}"


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_whatever_people_do_the_invariants_hold(db: None, seed: int) -> None:
    walk, broken = walked(seed, 500)
    if broken is not None:
        raise broken
    assert walk.done["initial"] > 8, busiest(walk)
    assert walk.done["issue"] > 0, busiest(walk)


def test_every_deliberate_fault_is_caught_by_the_invariant_named(
    db: None, subtests: pytest.Subtests
) -> None:
    walk = new_walk(1)
    for fault in FAULTS:
        with subtests.test(fault.name):
            assert caught(fault, walk) == fault.caught_by
