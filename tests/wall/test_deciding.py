"""From the wall a stage opens for the whole book."""

import pytest
from django.test import Client

from board.books.models import Book, ItemStage
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
