"""Text alternatives: the editor writes them, pages read them, the e-book takes them."""

import csv
import io
from typing import Any

import pytest
from django.urls import reverse

from board.books.actions.describing import describe
from board.errors import NotPermitted, Stale
from tests import make
from tests.viewing.conftest import Hung, looks

WORDS = "A girl in an ochre coat stands on wet sand; a goat looks the other way."


def test_the_editor_describes_a_picture_and_every_page_reads_it(hung: Hung) -> None:
    editor = looks(hung.cast.editor)
    address = reverse("viewing:descriptions", args=[hung.book.key])
    sent = {"item": hung.item.key, "version": 1, "words": f"  {WORDS}\n"}
    answer = editor.post(address, {"event": make.event(), **sent}, follow=True)
    assert WORDS in answer.content.decode()
    hung.item.refresh_from_db()
    assert (hung.item.alt_text, hung.item.version) == (WORDS, 2)
    told = editor.get(f"/api/items/{hung.item.key}/").json()
    assert told["alt_text"] == WORDS


def test_nobody_else_describes_and_nobody_is_overwritten(hung: Hung) -> None:
    with pytest.raises(NotPermitted):
        describe(hung.item, WORDS, by=hung.cast.art_director, version=1)
    describe(hung.item, "First.", by=hung.cast.editor, version=1)
    with pytest.raises(Stale):
        describe(hung.item, WORDS, by=hung.cast.editor, version=1)
    address = reverse("viewing:descriptions", args=[hung.book.key])
    late = {"item": hung.item.key, "version": 1, "words": WORDS}
    answer = looks(hung.cast.editor).post(address, {"event": make.event(), **late})
    assert answer.status_code == 412
    assert WORDS in answer.content.decode(), "what was typed is not lost"


def test_programs_describe_under_if_match_and_a_resend_does_nothing(
    hung: Hung,
) -> None:
    client = looks(hung.cast.editor)
    address = f"/api/items/{hung.item.key}/"
    tag = client.get(address)["ETag"]
    body = {"event": make.event(), "alt_text": WORDS}

    def patch(**more: str) -> int:
        kind = "application/json"
        return client.patch(address, body, content_type=kind, headers=more).status_code

    assert patch() == 428
    assert patch(if_match=tag) == 200
    assert patch(if_match=tag) == 200
    body = {"event": make.event(), "alt_text": "Late."}
    assert patch(if_match=tag) == 412


def test_the_e_book_gets_every_item_in_order_and_no_cell_runs_as_a_formula(
    hung: Hung,
) -> None:
    describe(hung.item, "=A heron, first.", by=hung.cast.editor, version=1)
    client = looks(hung.cast.designer)
    answer = client.get(reverse("viewing:descriptions-csv", args=[hung.book.key]))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["order"] for row in rows] == [
        str(item.position) for item in hung.book.items.order_by("position")
    ]
    mine = next(row for row in rows if row["item"] == hung.item.label)
    assert mine["description"] == "'=A heron, first."
    assert mine["sha256"] == hung.revision.sha256
    json = client.get(reverse("viewing:descriptions-json", args=[hung.book.key])).json()
    assert len(json["items"]) == len(rows)
    told = next(one for one in json["items"] if one["item"] == hung.item.label)
    assert told["description"] == "=A heron, first."


def test_the_page_of_descriptions_asks_the_same_for_any_number_of_items(
    hung: Hung,
    django_assert_max_num_queries: Any,  # a fixture without types
) -> None:
    client = looks(hung.cast.editor)
    address = reverse("viewing:descriptions", args=[hung.book.key])
    client.get(address)
    with django_assert_max_num_queries(10):
        client.get(address)
