"""`python -m tests.browser.people`: a book and its cast on the board of BOARD_FOLDER.

Prints, as JSON, the keys of book and item and everybody's way in.
"""

import json
import sys

import django

django.setup()

from accounts.actions import sign_in_link  # noqa: E402  # after setup
from board.books.rules import Stage  # noqa: E402
from board.permits import Role  # noqa: E402
from board.slips.actions import stages  # noqa: E402
from tests import make  # noqa: E402

CAST = {
    Role.ILLUSTRATOR: "Tamsin Okoro-Vale",
    Role.AUTHOR: "Moira Oduya-Flint",
    Role.EDITOR: "Dilys Crane",
    Role.ART_DIRECTOR: "Hector Noon",
    Role.DESIGNER: "Lena Abara",
    Role.PRODUCTION: "Gil Sorrel",
    Role.RIGHTS: "Petra Hale",
    Role.PUBLISHER: "Ines Quill",
}


def main() -> int:
    """Make them and say where they are."""
    book = make.book(title="The Lantern Boat")
    people = {
        role: make.person(name=name, email=f"{role.name.lower()}@example.org")
        for role, name in CAST.items()
    }
    for role, person in people.items():
        make.credit(on=book, who=person, role=role)
    item = book.items.get(label="8-9")
    head = people[Role.ART_DIRECTOR]
    stages.waive_stage(
        by=head,
        item=item,
        stage=Stage.THUMBNAILS,
        reason="The dummy was seen.",
        event=make.event(),
    )
    stages.open_stage(by=head, item=item, stage=Stage.SKETCH, event=make.event())
    told = {
        "book": book.key,
        "item": item.key,
        "ways_in": {
            role.name.lower(): sign_in_link(person, many_times=True)
            for role, person in people.items()
        },
    }
    sys.stdout.write(json.dumps(told))
    return 0


if __name__ == "__main__":
    sys.exit(main())
