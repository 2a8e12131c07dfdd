"""The words are kept in numbered versions; boxes lie on the sheet."""

from typing import Any

import pytest
from django.test import Client

from board.books.actions import make_text_version
from board.books.models import Book, Box, Item
from board.books.queries import (
    manuscript_of,
    newest_texts,
    roles_unfilled,
    text_of,
)
from board.daybook.queries import broken_at, entries_of
from board.errors import NotUnderstood
from tests.conftest import Cast

pytestmark = pytest.mark.django_db
PASTED = """1
Twice a day the sea at Pell gets up and leaves.
2
The post crosses. [The mark on Comma's side is a comma.]
3
Letter one is for the cocklers."""


def page_of(book: Book) -> str:
    return f"/books/{book.key}/manuscript/"


def test_a_pasted_manuscript_is_shown_shared_and_kept_only_when_asked(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    client.force_login(cast.editor)
    shown = client.post(page_of(book), {"pasted": PASTED, "do": "split"})
    assert shown.status_code == 200
    drafts = {
        part.item.label: part.drafted for part in shown.context["manuscript"].parts
    }
    assert drafts["6-7"].startswith("Twice a day")
    assert drafts["8-9"].endswith("is a comma.]")
    assert not book.texts.exists()
    words = {
        f"words-{part.item.key}": part.typed
        for part in shown.context["manuscript"].parts
    }
    kept = client.post(page_of(book), words | {"do": "keep", "event": "keep-it-1"})
    assert kept.status_code == 302
    text = text_of(item)
    assert text is not None
    assert text.words == "The post crosses."
    assert text.art_note == "The mark on Comma's side is a comma."
    assert book.texts.get().number == 1
    assert manuscript_of(book).count == 20
    entry = entries_of(book.key).last()
    assert entry is not None
    assert (entry.kind, entry.text_version) == ("text version made", 1)
    assert broken_at(book.key) is None


def test_words_pasted_and_kept_in_one_go_are_shared_out_first(
    client: Client, book: Book, cast: Cast
) -> None:
    client.force_login(cast.editor)
    shown = client.post(page_of(book), {"pasted": PASTED, "do": "keep"})
    assert shown.status_code == 200
    assert "Nothing is kept yet" in shown.content.decode()
    assert not book.texts.exists()


def test_the_book_names_whom_it_still_needs(book: Book, cast: Cast) -> None:
    book.credits.filter(role__in=["production", "author"]).delete()
    assert {"production", "author"} <= {str(role) for role in roles_unfilled(book)}
    assert "illustrator" not in roles_unfilled(book)


def test_version_one_is_made_once(client: Client, book: Book, cast: Cast) -> None:
    client.force_login(cast.editor)
    item = book.items.get(label="6-7")
    for words in ("One.", "Two."):
        client.post(page_of(book), {f"words-{item.key}": words, "do": "keep"})
    assert book.texts.count() == 1
    assert newest_texts(book)[item.key].words == "One."


def test_only_items_whose_words_differ_get_new_ones(book: Book, cast: Cast) -> None:
    one, two = book.items.filter(story=True)[:2]
    first = {one.key: "Forty years. [The badge says 40.]", two.key: "Same."}
    make_text_version(book, first, by=cast.editor)
    second = {one.key: "Fifty years.", two.key: "Same."}
    made = make_text_version(book, second, by=cast.editor, code="AA", payer="author")
    assert made.number == 2
    assert [part.item for part in made.parts.all()] == [one]
    texts = newest_texts(book)
    assert texts[one.key].art_note == "The badge says 40."
    assert texts[two.key].text.number == 1
    with pytest.raises(NotUnderstood):
        make_text_version(book, second, by=cast.editor)


def test_words_in_any_script_come_back_as_they_were(book: Book, cast: Cast) -> None:
    item = book.items.get(label="6-7")
    words = "قالت أُتّي: «إلى البيت!»\nÁrvíztűrő tükörfúrógép 👣"
    make_text_version(book, {item.key: words}, by=cast.editor)
    assert newest_texts(book)[item.key].words == words


def test_everybody_reads_the_words_and_the_editor_alone_writes_them(
    client: Client, book: Book, cast: Cast
) -> None:
    for person in cast.by_role().values():
        client.force_login(person)
        assert client.get(page_of(book)).status_code == 200
        status = client.post(page_of(book), {"pasted": "A\n\nB"}).status_code
        assert status == (200 if person == cast.editor else 403)
    client.force_login(cast.stranger)
    assert client.get(page_of(book)).status_code == 404


def box_of(**changed: Any) -> dict[str, Any]:
    sent = {"sort": "type", "label": "Granna", "x": "6", "y": "72", "width": "36,5"}
    return sent | {"height": "20", "event": "box-event-1"} | changed


def test_a_box_is_laid_moved_and_taken_off(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    client.force_login(cast.designer)
    page = f"/books/items/{item.key}/boxes/"
    for _ in range(2):  # sent twice, laid once
        assert client.post(page, box_of()).status_code == 302
    box = Box.objects.get()
    assert (box.x, box.y, box.width, box.height) == (0.06, 0.72, 0.365, 0.2)
    moved = box_of(x="-0.5", label="Comma", version=1)
    assert client.post(f"/books/boxes/{box.key}/", moved).status_code == 302
    box.refresh_from_db()
    assert (box.x, box.label, box.version) == (-0.005, "Comma", 2)
    assert client.post(f"/books/boxes/{box.key}/", moved).status_code == 412
    assert "36.5" in client.get(page).content.decode()
    assert client.post(f"/books/boxes/{box.key}/", {"do": "remove"}).status_code == 302
    assert not Box.objects.exists()
    done = [entry.details["what"] for entry in entries_of(book.key)]
    assert done == ["placed", "moved", "removed"]


@pytest.mark.parametrize(
    ("wrong", "status"),
    [
        ({"x": "left"}, 422),
        ({"x": "-5"}, 422),
        ({"x": "80"}, 422),
        ({"width": "0"}, 422),
        ({"height": "-1"}, 422),
        ({"sort": "crop"}, 422),
        ({"x": "inf"}, 422),
    ],
)
def test_a_box_off_the_bled_sheet_is_refused(
    client: Client, cast: Cast, item: Item, wrong: dict[str, str], status: int
) -> None:
    client.force_login(cast.designer)
    answer = client.post(f"/books/items/{item.key}/boxes/", box_of(**wrong))
    assert answer.status_code == status
    assert not Box.objects.exists()


def test_boxes_are_placed_by_some_seen_by_all(
    client: Client, cast: Cast, item: Item
) -> None:
    may = {cast.illustrator, cast.designer, cast.art_director, cast.editor}
    page = f"/books/items/{item.key}/boxes/"
    for number, person in enumerate(cast.by_role().values()):
        client.force_login(person)
        assert client.get(page).status_code == 200
        sent = box_of(event=f"box-by-{number:04d}")
        status = client.post(page, sent).status_code
        assert status == (302 if person in may else 403)
    client.force_login(cast.stranger)
    box = Box.objects.first()
    assert box is not None
    assert client.get(page).status_code == 404
    assert client.post(page, box_of()).status_code == 404
    assert client.post(f"/books/boxes/{box.key}/", {"do": "remove"}).status_code == 404


def test_an_unknown_or_set_aside_thing_is_simply_not_there(
    client: Client, cast: Cast
) -> None:
    client.force_login(cast.editor)
    for path in ("items/none/boxes/", "none/", "none/people/", "none/manuscript/"):
        assert client.get(f"/books/{path}").status_code == 404
    assert client.post("/books/boxes/none/").status_code == 404
    assert client.post("/books/invitations/none/withdraw/").status_code == 404
    assert client.get("/books/credits/none/end/").status_code == 404
    assert client.get("/books/invited/none/").status_code == 410
