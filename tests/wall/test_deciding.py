"""From the wall a stage opens for the whole book, and words change with a reason."""

import pytest
from django.test import Client

from board.books.actions import make_text_version
from board.books.models import Book, Item, ItemStage
from board.books.queries import newest_texts
from board.books.rules import Stage, Standing
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db


def opened(book: Book, stage: Stage) -> int:
    rows = ItemStage.objects.filter(item__book=book, stage=stage)
    return rows.filter(standing=Standing.AT_THE_TABLE).count()


def test_the_art_director_opens_a_stage_for_every_item(
    client: Client, book: Book, cast: Cast
) -> None:
    client.force_login(cast.art_director)
    assert "Open a stage" in client.get(f"/wall/{book.key}/").content.decode()
    sent = {"stage": "thumbnails", "reason": "", "event": make.event()}
    for _ in range(2):
        answer = client.post(f"/wall/{book.key}/open-stage/", sent)
        assert answer.status_code == 302
    assert opened(book, Stage.THUMBNAILS) == book.items.count()


def test_a_stage_is_left_out_with_a_reason(
    client: Client, book: Book, cast: Cast
) -> None:
    client.force_login(cast.art_director)
    sent = {"stage": "sketch", "reason": "drawn before", "event": make.event()}
    client.post(f"/wall/{book.key}/open-stage/", sent)
    assert opened(book, Stage.SKETCH) == book.items.count()
    waived = ItemStage.objects.filter(item__book=book, stage=Stage.THUMBNAILS)
    assert set(waived.values_list("waived", flat=True)) == {"drawn before"}


def test_nobody_else_opens_a_stage(client: Client, book: Book, cast: Cast) -> None:
    sent = {"stage": "thumbnails", "event": make.event()}
    for person in cast.by_role().values():
        if person != cast.art_director:
            client.force_login(person)
            page = f"/wall/{book.key}/open-stage/"
            assert client.post(page, sent).status_code == 403
            shown = client.get(f"/wall/{book.key}/").content.decode()
            assert "Open a stage" not in shown
            assert "The art director opens the first stage" in shown
    client.force_login(cast.stranger)
    assert client.post(f"/wall/{book.key}/open-stage/", sent).status_code == 404
    assert opened(book, Stage.THUMBNAILS) == 0


@pytest.fixture
def worded(book: Book, cast: Cast, item: Item) -> Item:
    other = book.items.get(label="6-7")
    words = {
        item.key: "Forty years.\nSeven letters, Otti. [The badge says 40.]",
        other.key: "Twice a day.",
    }
    make_text_version(book, words, by=cast.editor)
    return item


def typed(book: Book, **more: str) -> dict[str, str]:
    """The page sent back as a browser does, with line ends of its own."""
    sent = {"reason": "the author's wish", "event": make.event()}
    for key, text in newest_texts(book).items():
        sent[f"words-{key}"] = text.words.replace("\n", "\r\n")
    return sent | more


def test_only_words_that_differ_make_a_text_version(
    client: Client, book: Book, cast: Cast, worded: Item
) -> None:
    client.force_login(cast.editor)
    page = f"/wall/{book.key}/words/"
    assert client.get(page).status_code == 200
    assert client.post(page, typed(book)).status_code == 422
    changed = {f"words-{worded.key}": "Fifty years.\r\nSeven letters, Otti."}
    answer = client.post(page, typed(book, **changed))
    assert answer["Location"] == f"/books/{book.key}/manuscript/"
    made = book.texts.get(number=2)
    assert [part.item for part in made.parts.all()] == [worded]
    assert newest_texts(book)[worded.key].art_note == "The badge says 40."


def test_without_a_reason_nothing_is_kept_and_nothing_typed_is_lost(
    client: Client, book: Book, cast: Cast, worded: Item
) -> None:
    client.force_login(cast.editor)
    changed = {f"words-{worded.key}": "Sixty years.", "reason": ""}
    answer = client.post(f"/wall/{book.key}/words/", typed(book, **changed))
    assert answer.status_code == 422
    assert "Sixty years." in answer.content.decode()
    assert book.texts.count() == 1


def test_only_the_editor_changes_words_and_only_kept_ones(
    client: Client, book: Book, cast: Cast
) -> None:
    page = f"/wall/{book.key}/words/"
    client.force_login(cast.editor)
    assert client.get(page)["Location"] == f"/books/{book.key}/manuscript/"
    for person in cast.by_role().values():
        if person != cast.editor:
            client.force_login(person)
            assert client.get(page).status_code == 403
            assert client.post(page, {}).status_code == 403
    client.force_login(cast.stranger)
    assert client.get(page).status_code == 404
