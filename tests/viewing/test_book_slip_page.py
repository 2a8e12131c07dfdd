"""The book slip's page: why it is not open, its list, its lines, and the hand-over."""

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from board.books.models import Book, ItemStage
from board.books.rules import Standing
from board.slips.models import BookInitial, BookSlip
from tests import make
from tests.conftest import Cast
from tests.slips.test_book_slip import (  # noqa: F401 - fixtures
    _read,
    people,
    ready,
    small,
)
from tests.viewing.conftest import Hung, looks


def address(book: Book, stage: str = "final") -> str:
    return reverse("viewing:book-slip", args=[book.key]) + f"?stage={stage}"


def page_of(client: Client, book: Book, stage: str = "final") -> str:
    return unescape(client.get(address(book, stage)).content.decode())


def initial(client: Client, book: Book, role: str, list_hash: str) -> int:
    told = {"act": "initial", "role": role, "list_hash": list_hash}
    return client.post(address(book), {"event": make.event(), **told}).status_code


def hash_on(page: str) -> str:
    found = re.search(r'name="list_hash" value="(\w{64})"', page)
    assert found
    return found[1]


def test_it_says_why_it_is_not_open_and_lists_every_item(hung: Hung) -> None:
    page = page_of(looks(hung.cast.author), hung.book)
    assert "Why not open?" in page
    assert "8-9: is not at final." in page
    assert "list_hash" not in page
    page = page_of(looks(hung.cast.editor), hung.book, "sketch")
    assert hung.revision.short_code in page
    assert looks(hung.cast.editor).get(address(hung.book, "washes")).status_code == 404
    wall = looks(hung.cast.editor).get(reverse("wall:wall", args=[hung.book.key]))
    assert address(hung.book).split("?", maxsplit=1)[0] in wall.content.decode()


@pytest.mark.usefixtures("ready")
def test_four_initials_pass_it_then_it_is_handed_over_and_recalled(
    small: Book,  # noqa: F811 - the fixture
    people: Cast,  # noqa: F811 - the fixture
) -> None:
    _read(small, people)
    editor = looks(people.editor)
    shown = hash_on(page_of(editor, small))
    assert initial(editor, small, "editor", "0" * 64) == 409
    assert initial(editor, small, "publisher", shown) == 403
    by_role = {
        "editor": people.editor,
        "art director": people.art_director,
        "production": people.production,
        "publisher": people.publisher,
    }
    for role, who in by_role.items():
        assert initial(looks(who), small, role, shown) == 302
    assert BookInitial.objects.count() == 4
    printer = looks(people.production)
    assert "passed for press" in page_of(printer, small)
    assert "Hand over" not in page_of(editor, small)
    sent = {"event": make.event(), "act": "hand_over"}
    assert printer.post(address(small), sent).status_code == 302
    handed = ItemStage.objects.filter(standing=Standing.HANDED_OVER)
    assert handed.count() == small.items.count()
    house = looks(people.publisher)
    assert "Recall the book" in page_of(house, small)
    sent = {"event": make.event(), "act": "recall", "reason": "A wrong word."}
    body = page_of(house, small)
    sent["ripple"] = re.findall(r'name="ripple" value="([0-9a-f]{64})"', body)[0]
    answer = house.post(address(small), sent)
    assert answer.status_code == 422
    assert "A wrong word." in answer.content.decode()
    sent |= {"told": "By telephone.", "cost": "New plates."}
    assert house.post(address(small), sent).status_code == 302
    assert not handed.exists()
    assert BookSlip.objects.get().lapsed_at
