"""The desk says what waits for whom and why, and what to do when nothing does."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.permits import Role
from tests import make
from tests.conftest import Cast
from tests.wall.test_wall import hang, initial, note

pytestmark = pytest.mark.django_db


def test_what_waits_is_piled_by_book_with_its_reasons(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    make.at(item, Stage.THUMBNAILS, Standing.AT_THE_TABLE)
    client.force_login(cast.illustrator)
    answer = client.get("/")
    (pile,) = answer.context["piles"]
    assert pile.book == book
    assert [line.item for line in pile.lines] == [item]
    assert all(line.reasons for line in pile.lines)
    assert "One item waits for you" in answer.content.decode()


def test_an_empty_desk_says_what_to_do_next(client: Client, cast: Cast) -> None:
    client.force_login(cast.stranger)
    assert "invite you by the address" in client.get("/").content.decode()
    cast.stranger.keeps_house = True
    cast.stranger.save()
    page = client.get("/").content.decode()
    assert "Make the first one" in page
    assert 'href="/books/new/"' in page
    client.force_login(cast.publisher)
    assert "Nothing waits for you here." in client.get("/").content.decode()


def test_a_desk_shows_no_book_of_others(client: Client, cast: Cast) -> None:
    other = make.book(title="Somebody else's")
    client.force_login(cast.editor)
    assert other.title not in client.get("/").content.decode()
    assert Client().get("/").status_code == 302


def test_a_desk_with_500_open_notes_takes_the_same_few_queries(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    director, artist = make.person(), make.person()
    for _ in range(3):
        book = make.book()
        make.credit(on=book, who=director, role=Role.ART_DIRECTOR)
        make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
        for item in book.items.filter(story=True):
            hang(item, artist)
            notes = [note(item, by=director) for _ in range(14)]
            initial(item, by=director, listing=notes[0])
    client.force_login(director)
    with django_assert_max_num_queries(12):
        page = client.get("/")
    assert len(page.context["piles"]) == 3
