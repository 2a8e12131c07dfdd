"""The one prepared book."""

import pytest

from tests.house import sources
from tests.house.world import World, build


@pytest.fixture
def world(db: None) -> World:
    """A book in the thick of it, with one of everything that has an address."""
    made = build()
    sources.source(made)
    sources.thing(made)
    return made
