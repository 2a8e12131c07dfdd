"""What a long book asks of the board: 48 pages, ten revisions an item."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from board.books.models import Book
from board.books.rules import Stage, Standing
from board.permits import Role
from board.repro.laying import PREVIEWS
from tests import make
from tests.conftest import Cast

REVISIONS = 10
# Queries and bytes of the page itself, without pictures: the house's own ceilings.
PAGES = {
    "wall:wall": (12, 120_000),
    "wall:tracks": (12, 120_000),
    "wall:colours": (12, 60_000),
    "readings:list": (12, 60_000),
    "paper:book": (12, 60_000),
}


@pytest.fixture
def long_book(cast: Cast) -> Book:
    book = make.book(extent=48)
    make.credit(on=book, who=cast.editor, role=Role.EDITOR)
    make.credit(on=book, who=cast.illustrator, role=Role.ILLUSTRATOR)
    for item in book.items.order_by("position"):
        make.at(item, Stage.THUMBNAILS, Standing.OK)
        make.at(item, Stage.SKETCH, Standing.HUNG)
        for number in range(1, REVISIONS + 1):
            make.revision(of=item, by=cast.illustrator, number=number)
    return book


def test_pages_of_the_whole_book_stay_small_however_often_it_was_drawn(
    long_book: Book, cast: Cast
) -> None:
    client = Client()
    client.force_login(cast.editor)
    for name, (queries, size) in PAGES.items():
        url = reverse(name, args=[long_book.key])
        client.get(url)
        with CaptureQueriesContext(connection) as seen:
            page = client.get(url)
        assert page.status_code == 200, name
        assert len(seen) <= queries, (name, len(seen))
        assert len(page.content) <= size, (name, len(page.content))


def test_a_wall_of_forty_items_fits_500_kb_pictures_and_all(
    long_book: Book, cast: Cast
) -> None:
    client = Client(headers={"accept-encoding": "gzip"})
    client.force_login(cast.editor)
    sent = len(client.get(reverse("wall:wall", args=[long_book.key])).content)
    a_picture = PREVIEWS[0][2]
    assert 40 * (a_picture + sent / long_book.items.count()) <= 480_000
