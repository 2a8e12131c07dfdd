"""The invariants, held against random walks with printed seeds."""

import pytest

from tests.slips.invariants import busiest, hold_for, hold_in_the_end
from tests.slips.walk import new_walk


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2])
def test_whatever_people_do_the_invariants_hold(db: None, seed: int) -> None:
    walk = new_walk(seed)
    walk.after = lambda name, item: hold_for(walk, item, name)
    for _ in range(250):
        walk.step()
    hold_in_the_end(walk)
    assert walk.done["initial"] > 8, busiest(walk)
    assert walk.done["issue"] > 0, busiest(walk)
