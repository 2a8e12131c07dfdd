"""`python -m tests.browser.one_of_everything`: the door test's book, with pictures.

Makes it on the board of BOARD_FOLDER and prints, as JSON, everybody's way in and the
address of each page door with the roles that get in.
"""

import json
import sys
import tempfile
from pathlib import Path
from typing import Any

import django

django.setup()

from django.urls import reverse  # noqa: E402  # after setup

from accounts.actions import sign_in_link  # noqa: E402
from accounts.models import Person  # noqa: E402
from board.books.models import Item  # noqa: E402
from board.books.rules import Stage  # noqa: E402
from board.management.demo.pictures import (  # noqa: E402
    measure_all,
    prepare_all,
    upload,
)
from board.revisions.models import Revision  # noqa: E402
from fixtures.drawing import paint  # noqa: E402
from tests.house import sources  # noqa: E402
from tests.house.door import Door  # noqa: E402
from tests.house.doors import DOORS  # noqa: E402
from tests.house.world import World, build  # noqa: E402

NOBODY, STRANGER = "nobody", "stranger"


def main() -> int:
    """Make it and say where everything is."""
    world = build(hung)
    sources.source(world)
    sources.thing(world)
    measure_all([world.second], check=False)
    people = {role.name.lower(): who for role, who in world.cast.by_role().items()}
    people[STRANGER] = world.cast.stranger
    told = {
        "book": world.book.key,
        "item": world.item.key,
        "ways_in": {
            name: sign_in_link(who, many_times=True) for name, who in people.items()
        },
        "doors": [told_of(door, world) for door in DOORS if is_page(door)],
    }
    sys.stdout.write(json.dumps(told))
    return 0


def is_page(door: Door) -> bool:
    return door.method == "GET" and not door.for_programs


def told_of(door: Door, world: World) -> dict[str, Any]:
    """An address and what everybody is answered there."""
    answers = {role.name.lower(): door.expected(role) for role in world.cast.by_role()}
    answers |= {NOBODY: door.nobody(), STRANGER: door.stranger}
    path = reverse(door.name, args=door.of(world)) + door.query(world)
    return {"name": door.name, "path": path, "answers": answers}


def hung(*, of: Item, by: Person) -> Revision:
    """The next sketch of the demo book's item, uploaded and laid."""
    number = 1 + of.revisions.filter(stage=Stage.SKETCH).count()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{of.label}.png"
        paint(of.label, f"sk{number}", path)
        revision = upload(path, item=of, stage=Stage.SKETCH, by=by)
    return prepare_all([revision])[0]


if __name__ == "__main__":
    sys.exit(main())
