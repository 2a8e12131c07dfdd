"""A reading counts for exactly the pictures and words it was held on."""

from datetime import timedelta

import pytest

from board.books.actions import make_text_version
from board.books.models import Book, Item
from board.books.rules import Stage
from board.daybook.actions import replayed_at
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.readings.actions import begin_reading, hold_reading
from board.readings.models import Reading
from board.readings.queries import readings_on
from tests import make
from tests.conftest import Cast

LATER = timedelta(minutes=6)


@pytest.fixture
def hung(item: Item, cast: Cast) -> Item:
    make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL, number=1)
    return item


def read(book: Book, cast: Cast, word: str, event: str = "") -> Reading:
    with replayed_at(make.NOW + LATER):
        return hold_reading(
            by=cast.editor, book=book, word=word, event=event or make.event()
        )


def begun(book: Book, cast: Cast) -> str:
    with replayed_at(make.NOW):
        return begin_reading(by=cast.editor, book=book)


def test_a_reading_says_who_read_how_long_and_on_what(
    book: Book, cast: Cast, hung: Item
) -> None:
    made = read(book, cast, begun(book, cast))
    assert (made.by, made.role, made.seconds) == (cast.editor, "editor", 360)
    assert made.shown[0]["label"] == "8-9"
    assert readings_on(book) == [made]


def test_a_resend_makes_no_second_reading(book: Book, cast: Cast, hung: Item) -> None:
    word, sent = begun(book, cast), make.event()
    assert read(book, cast, word, sent).pk == read(book, cast, word, sent).pk


def test_a_new_picture_or_new_words_leave_the_reading_behind(
    book: Book, cast: Cast, hung: Item
) -> None:
    read(book, cast, begun(book, cast))
    make_text_version(book, {hung.key: "Otti rowed."}, by=cast.editor)
    assert readings_on(book) == []
    read(book, cast, begun(book, cast))
    make.revision(of=hung, by=cast.illustrator, stage=Stage.FINAL, number=2)
    assert readings_on(book) == []


def test_what_changed_while_reading_was_not_read(
    book: Book, cast: Cast, hung: Item
) -> None:
    word = begun(book, cast)
    make.revision(of=hung, by=cast.illustrator, stage=Stage.FINAL, number=2)
    with pytest.raises(WrongMove, match="changed while you read"):
        read(book, cast, word)


def test_a_made_up_word_or_a_moments_glance_is_no_reading(
    book: Book, cast: Cast, hung: Item
) -> None:
    with pytest.raises(NotUnderstood):
        read(book, cast, "made up")
    with replayed_at(make.NOW + LATER):
        word = begin_reading(by=cast.editor, book=book)
    with pytest.raises(NotUnderstood, match="seconds"):
        read(book, cast, word)


def test_nobody_holds_anothers_reading_and_the_artist_records_none(
    book: Book, cast: Cast, hung: Item
) -> None:
    with pytest.raises(NotUnderstood, match="another person"):
        hold_reading(
            by=cast.author, book=book, word=begun(book, cast), event=make.event()
        )
    with pytest.raises(NotPermitted):
        begin_reading(by=cast.illustrator, book=book)
