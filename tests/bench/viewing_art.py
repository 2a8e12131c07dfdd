"""A book with a pair of 87-megapixel pictures, for the measurement of the viewers.

    python -m tests.bench.viewing_art

On the board of BOARD_FOLDER; prints, as JSON, ways in and addresses. Beside it the demo
book must be loaded: it is what the pages are measured on.
"""

import json
import sys
import tempfile
from pathlib import Path

import django

django.setup()

import pyvips  # noqa: E402  # after setup

from accounts.actions import sign_in_link  # noqa: E402
from accounts.models import Person  # noqa: E402
from board.books.models import Book, Item  # noqa: E402
from board.books.rules import Stage  # noqa: E402
from board.light_table.models import Comparison  # noqa: E402
from board.management.demo.pictures import prepare_all, upload  # noqa: E402
from board.permits import Role  # noqa: E402
from board.slips.actions import stages  # noqa: E402
from tests import make  # noqa: E402
from tests.bench.ingest import draw  # noqa: E402

DEMO = "Seven Letters Before the Tide"


def large(folder: Path) -> str:
    """Hang two large pictures of one spread; its key."""
    book = make.book(title="The Large Pair")
    artist = make.person(name="Bench Artist", email="artist@example.org")
    head = Person.objects.get(initials="HN")
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    make.credit(on=book, who=head, role=Role.ART_DIRECTOR)
    item = book.items.get(label="8-9")
    stages.waive_stage(
        by=head,
        item=item,
        stage=Stage.THUMBNAILS,
        reason="A measurement.",
        event=make.event(),
    )
    stages.open_stage(by=head, item=item, stage=Stage.SKETCH, event=make.event())
    art = draw(folder, "tiff")
    other = folder / "other.tif"
    pyvips.Image.new_from_file(str(art)).gamma(exponent=0.9).tiffsave(str(other))
    for path in (art, other):
        revision = upload(path, item=item, stage=Stage.SKETCH, by=artist)
        prepare_all([revision])
        stages.send_up(by=artist, revision=revision, event=make.event())
        path.unlink()
    return item.key


def spread(book: Book) -> Item:
    """The demo's spread that was looked at most: a pair to compare, notes, initials."""
    pairs = Comparison.objects.filter(after__item__book=book)
    found = pairs.filter(after__item__label="10-11").first() or pairs.first()
    return found.after.item if found else book.items.get(label="10-11")


def main() -> int:
    book = Book.objects.get(title=DEMO)
    item = spread(book)
    with tempfile.TemporaryDirectory() as folder:
        pair = large(Path(folder))
    ways = {
        who: sign_in_link(Person.objects.get(initials=who), many_times=True)
        for who in ("HN", "MOF")
    }
    pages = {
        "desk": "/",
        "wall": f"/wall/{book.key}/",
        "item": f"/rooms/{item.key}/",
        "light table": f"/rooms/{item.key}/light-table/",
        "large": f"/rooms/{pair}/",
    }
    sys.stdout.write(json.dumps({"ways": ways, "pages": pages}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
