"""What each reader gets printed."""

from io import BytesIO

import cv2
import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Person
from board.repro.store import new_picture
from board.slips.actions import notes, sheets
from tests import make
from tests.viewing.conftest import Hung, hung, looks

__all__ = ["hung"]

WAITING = "Walnut lantern ninety-four."
ISSUED = "Let the oar point to the harbour."


def text_of(who: Person, name: str, *keys: str) -> str:
    answer = looks(who).get(reverse(f"paper:{name}", args=keys))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert "no-store" in answer["Cache-Control"]
    pages = PdfReader(BytesIO(answer.content)).pages
    return "\n".join(page.extract_text() for page in pages)


def issued(hung: Hung) -> str:
    loaf = [[0.66, 0.70], [0.82, 0.86]]
    hung.note(hung.cast.art_director, "keep", "Keep the loaf.", loaf)
    hung.note(hung.cast.art_director, words=ISSUED)
    sheet = sheets.issue_sheet(
        by=hung.cast.art_director, item=hung.item, event=make.event()
    )
    return str(sheet.key)


def test_the_sheet_carries_its_lines_keeps_first_and_the_short_code(hung: Hung) -> None:
    key = issued(hung)
    text = text_of(hung.cast.illustrator, "note-sheet", key)
    assert text.index("Keep the loaf.") < text.index(ISSUED)
    assert "1.1" in text
    assert f"{hung.revision.sha256[:4]} {hung.revision.sha256[4:8]}" in text


def test_a_superseded_picture_says_so_in_print(hung: Hung) -> None:
    key = issued(hung)
    for note in hung.item.notes.filter(sort="direction"):
        event = make.event()
        artist = hung.cast.illustrator
        notes.answer(by=artist, note=note, answer="done", words="", event=event)
    hung.next_up()
    assert "SUPERSEDED" in text_of(hung.cast.illustrator, "note-sheet", key)
    assert "SUPERSEDED" not in text_of(
        hung.cast.illustrator, "item-lines", hung.item.key
    )


@pytest.mark.parametrize("name", ["item-lines", "book-lines"])
def test_the_artist_gets_no_line_that_was_not_issued(hung: Hung, name: str) -> None:
    issued(hung)
    hung.note(hung.cast.author, words=WAITING)
    hung.note(hung.cast.designer, words="Quiet, unissued.")
    key = hung.item.key if name == "item-lines" else hung.book.key
    text = text_of(hung.cast.illustrator, name, key)
    assert ISSUED in text
    assert "Walnut" not in text
    assert "unissued" not in text
    assert "Walnut" in text_of(hung.cast.editor, name, key)


def test_a_tracing_shows_the_artist_no_withheld_mark(hung: Hung) -> None:
    issued(hung)
    url = reverse("paper:tracing", args=[hung.item.key]) + "?paper=own&colour=black"
    before = looks(hung.cast.illustrator).get(url).content
    hung.note(hung.cast.author, words=WAITING, points=[[0.1, 0.1], [0.2, 0.2]])
    hung.note(hung.cast.designer, words="Quiet.", points=[[0.7, 0.1], [0.8, 0.2]])
    after = looks(hung.cast.illustrator).get(url).content
    assert _drawn(before) == _drawn(after)
    assert _drawn(looks(hung.cast.editor).get(url).content) != _drawn(after)


def _drawn(body: bytes) -> bytes:
    contents = PdfReader(BytesIO(body)).pages[0].get_contents()
    assert contents is not None
    return contents.get_data()


def test_an_unknown_paper_is_told_in_words(hung: Hung) -> None:
    url = reverse("paper:tracing", args=[hung.item.key])
    answer = looks(hung.cast.illustrator).get(url + "?paper=vellum&colour=black")
    assert answer.status_code == 422


def test_with_a_picture_the_sheet_shows_it_and_a_crop_of_each_place(hung: Hung) -> None:
    with new_picture(hung.revision.picture) as folder:
        wash = np.full((500, 1000, 3), (80, 160, 200), np.uint8)
        cv2.imwrite(str(folder / "working.png"), wash)
    key = issued(hung)
    url = reverse("paper:note-sheet", args=[key])
    body = looks(hung.cast.illustrator).get(url).content
    images = [image for page in PdfReader(BytesIO(body)).pages for image in page.images]
    assert len(images) == 3  # the whole, and the places of two lines


def test_words_from_right_to_left_are_printed(hung: Hung) -> None:
    hung.note(hung.cast.art_director, words="הזיזו אותה שמאלה")
    sheet = sheets.issue_sheet(
        by=hung.cast.art_director, item=hung.item, event=make.event()
    )
    url = reverse("paper:note-sheet", args=[sheet.key])
    body = looks(hung.cast.illustrator).get(url).content
    assert PdfReader(BytesIO(body)).pages[0].images


def test_printing_takes_the_same_few_queries_for_many_notes(hung: Hung) -> None:
    client, url = (
        looks(hung.cast.art_director),
        reverse("paper:item-lines", args=[hung.item.key]),
    )
    hung.note(hung.cast.art_director)
    client.get(url)
    with CaptureQueriesContext(connection) as few:
        client.get(url)
    for number in range(6):
        hung.note(hung.cast.art_director, words=f"More {number}.")
    with CaptureQueriesContext(connection) as many:
        client.get(url)
    assert len(many) <= len(few)
    assert len(many) <= 16
