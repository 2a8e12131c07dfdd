"""The invariants, each under its number, held against random walks; seeds are printed."""

from collections.abc import Iterator

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from tests.slips.faults import FAULTS, Fault, caught
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


@pytest.fixture(scope="module")
def short_walk(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[tuple[Walk, Broken | None]]:
    """A walk of 120 events on which every invariant is looked at after each."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield walked(7, 120)
        transaction.set_rollback(True)


@pytest.mark.parametrize("number", BY_WALKING)
def test_invariant_holds(number: int, short_walk: tuple[Walk, Broken | None]) -> None:
    walk, broken = short_walk
    if broken is not None and broken.number == number:
        raise broken
    assert broken is None or broken.number != number, busiest(walk)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_whatever_people_do_the_invariants_hold(db: None, seed: int) -> None:
    walk, broken = walked(seed, 500)
    if broken is not None:
        raise broken
    assert walk.done["initial"] > 8, busiest(walk)
    assert walk.done["issue"] > 0, busiest(walk)
    assert walk.done["format"] > 0, busiest(walk)


@pytest.fixture(scope="module")
def ground(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Walk]:
    """One board for all faults; each is taken back."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield new_walk(1)
        transaction.set_rollback(True)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_deliberate_fault_is_caught(fault: Fault, ground: Walk) -> None:
    assert caught(fault, ground) == fault.caught_by
