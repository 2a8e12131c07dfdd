"""The invariants of sign-off, each under its number, whatever people do in any order.

Walks run by fixed seeds and the machine is derandomised, so that a failure is the same
one everywhere. Longer: `python3 manage.py soak --events N --seed S`.
"""

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.slips.faults import FAR, FAULTS, Fault, caught
from tests.slips.invariants import NUMBERS, Broken, busiest, hold_for, hold_in_the_end
from tests.slips.machine import SignOff
from tests.slips.walk import Walk, new_walk

WALKS, EVENTS = 4, 430  # of chance alone
BOARDS, ACTS = 3, 60  # of the machine, each with its way out
AT_LEAST = 2000  # events of both together


def walked(begin: int, events: int) -> tuple[Walk, Broken | None]:
    """A walk of so many events, or until an invariant did not hold."""
    walk = new_walk(begin)
    walk.after = lambda name, item: hold_for(walk, item)
    try:
        while walk.events < events:
            walk.step()
        hold_in_the_end(walk)
    except Broken as broken:
        return walk, broken
    return walk, None


def test_each_invariant_holds_on_a_short_walk(
    db: None, subtests: pytest.Subtests
) -> None:
    walk, broken = walked(7, 40)
    for number in NUMBERS:
        with subtests.test(f"invariant {number}"):
            fell = broken is not None and broken.number == number
            assert not fell, f"{broken}; {busiest(walk)}"


@pytest.mark.slow
@pytest.mark.parametrize("begin", range(WALKS))
def test_whatever_people_do_the_invariants_hold(db: None, begin: int) -> None:
    walk, broken = walked(begin, EVENTS)
    if broken is not None:
        raise broken
    assert walk.done["initial"] > 8, busiest(walk)
    assert walk.done["issue"] > 0, busiest(walk)


@pytest.mark.slow
def test_from_wherever_people_come_to_there_is_a_way_to_the_printer(db: None) -> None:
    SignOff.events = 0
    run_state_machine_as_test(
        SignOff,
        settings=settings(
            max_examples=BOARDS,
            stateful_step_count=ACTS,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate, Phase.shrink],
            suppress_health_check=list(HealthCheck),
        ),
    )
    print(f"{SignOff.events} events")  # noqa: T201 - the honest figure
    assert SignOff.events + WALKS * EVENTS >= AT_LEAST


def test_every_deliberate_fault_is_caught_by_the_invariant_named(
    db: None, subtests: pytest.Subtests
) -> None:
    walk = new_walk(1)
    for fault in FAULTS:
        with subtests.test(fault.name):
            assert caught(fault, walk) == fault.caught_by


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAR, ids=lambda fault: fault.name)
def test_a_fault_on_the_way_to_the_printer_is_caught(db: None, fault: Fault) -> None:
    assert caught(fault, new_walk(1)) == fault.caught_by
