"""`python -m tests.sittings.furnish N`: an open sitting and N people, as JSON.

Works on the board of BOARD_FOLDER. Prints keys, and a session for each person.
"""

import json
import sys
from datetime import UTC, datetime

import django

django.setup()

from django.test import Client  # noqa: E402  # after setup

from board.books.rules import Stage, Standing  # noqa: E402
from board.permits import Role  # noqa: E402
from board.sittings import actions  # noqa: E402
from board.sittings.actions import Plan, holding  # noqa: E402
from board.slips.actions import stages  # noqa: E402
from tests import make  # noqa: E402

FIRST = (
    Role.ART_DIRECTOR,
    Role.ILLUSTRATOR,
    Role.AUTHOR,
    Role.EDITOR,
    Role.PRODUCTION,
    Role.RIGHTS,
)


def main(count: int) -> None:
    """Make them: the first six hold one credit each, everybody after is a designer."""
    book = make.book(title="The Lantern Boat")
    people = []
    for place in range(count):
        who = make.person(name=f"Sitter {place}", initials=f"S{place % 99}")
        role = FIRST[place] if place < len(FIRST) else Role.DESIGNER
        make.credit(on=book, who=who, role=role)
        people.append((who, role))
    head, artist = people[0][0], people[1][0]
    items = list(book.items.filter(story=True)[:4])
    revisions = []
    for item in items:
        make.at(item, Stage.THUMBNAILS, Standing.OK)
        make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
        new = make.revision(of=item, by=artist)
        revisions.append(stages.send_up(by=artist, revision=new, event=make.event()))
    plan = Plan(datetime(2026, 3, 12, 14, 0, tzinfo=UTC), "UTC", 60, items, head)
    sitting = actions.plan_sitting(by=head, book=book, plan=plan, event=make.event())
    holding.open_sitting(by=head, sitting=sitting, event=make.event())
    told = {
        "book": book.key,
        "sitting": sitting.key,
        "items": [item.key for item in items],
        "revisions": [one.key for one in revisions],
        "people": [
            {"key": who.key, "role": role.value, "session": session_of(who)}
            for who, role in people
        ],
    }
    sys.stdout.write(json.dumps(told))


def session_of(who: object) -> str:
    """A session as signing in would make one."""
    client = Client()
    client.force_login(who)  # type: ignore[arg-type]  # a person
    return client.cookies["sessionid"].value


if __name__ == "__main__":
    main(int(sys.argv[1]))
