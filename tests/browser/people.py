"""`python -m tests.browser.people`: a book and its cast on the board of BOARD_FOLDER.

One spread is open at sketch, one hangs, and one waits for its author alone. Prints, as JSON, the keys of book and
items and everybody's way in.
"""

import json
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import django
from PIL import Image, ImageDraw

django.setup()

from accounts.actions import sign_in_link  # noqa: E402  # after setup
from accounts.models import Person  # noqa: E402
from board.books.models import Book, Item  # noqa: E402
from board.books.rules import Stage  # noqa: E402
from board.management.demo.pictures import prepare_all, upload  # noqa: E402
from board.permits import Role  # noqa: E402
from board.revisions.queries import current  # noqa: E402
from board.slips.actions import initials, stages  # noqa: E402
from board.slips.queries.receipts import receipt_for  # noqa: E402
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


BEFORE_THE_AUTHOR = {
    Role.DESIGNER: "fit",
    Role.EDITOR: "story",
    Role.ART_DIRECTOR: "art",
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
    item, hung, agreed = map(labelled(book), ("8-9", "10-11", "12-13"))
    for one in (item, hung, agreed):
        open_sketch(one, people[Role.ART_DIRECTOR])
    for one in (hung, agreed):
        hang(one, people[Role.ILLUSTRATOR])
    for role, facet in BEFORE_THE_AUTHOR.items():
        initial(agreed, people[role], facet)
    told = {
        "book": book.key,
        "item": item.key,
        "hung": hung.key,
        "agreed": agreed.key,
        "ways_in": {
            role.name.lower(): sign_in_link(person, many_times=True)
            for role, person in people.items()
        },
    }
    sys.stdout.write(json.dumps(told))
    return 0


def labelled(book: Book) -> Callable[[str], Item]:
    return lambda label: book.items.get(label=label)


def initial(item: Item, who: Person, facet: str) -> None:
    """Give an OK on what hangs."""
    up = current(item, Stage.SKETCH)
    assert up is not None
    initials.initial(
        by=who,
        item=item,
        facet=facet,
        receipt=receipt_for(who, item, up),
        event=make.event(),
    )


def open_sketch(item: Item, head: Person) -> None:
    stages.waive_stage(
        by=head,
        item=item,
        stage=Stage.THUMBNAILS,
        reason="The dummy was seen.",
        event=make.event(),
    )
    stages.open_stage(by=head, item=item, stage=Stage.SKETCH, event=make.event())


def hang(item: Item, artist: Person) -> None:
    """Send up a plain picture: a moon over a hill."""
    picture = Image.new("RGB", (1644, 832), "#f3efe4")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((1100, 120, 1260, 280), fill="#d8d2bd", outline="#3a3a3a", width=5)
    pen.polygon([(0, 832), (600, 420), (1644, 832)], fill="#b9b4a6", outline="#3a3a3a")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{item.label}.png"
        picture.save(path)
        revision = upload(path, item=item, stage=Stage.SKETCH, by=artist)
    prepare_all([revision])
    stages.send_up(by=artist, revision=revision, event=make.event())


if __name__ == "__main__":
    sys.exit(main())
