"""Pictures of a shape that nobody expects: nothing is laid silently wrong."""

from pathlib import Path

import pytest
from django.test import Client
from django.utils.html import escape
from PIL import Image

from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.management.demo.pictures import upload
from board.revisions.models import Revision
from board.revisions.queries import is_laid
from board.revisions.tasks import prepare
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("size", "told"),
    [((1, 1), "only 1 x 1 pixels"), ((3000, 100), "its shape differs")],
    ids=["1 px", "30:1"],
)
def test_an_odd_picture_stays_in_the_folder_and_says_why(
    tmp_path: Path, book: Book, cast: Cast, item: Item, size: tuple[int, int], told: str
) -> None:
    make.at(item, Stage.THUMBNAILS, Standing.OK)
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    path = tmp_path / "odd.png"
    Image.new("RGB", size, "#777777").save(path)
    revision = upload(path, item=item, stage=Stage.SKETCH, by=cast.illustrator)
    prepare.func(revision.key)
    revision = Revision.objects.get(pk=revision.pk)
    assert not is_laid(revision)
    why = revision.unlaid_because or revision.failure
    assert told in why
    client = Client()
    client.force_login(cast.illustrator)
    for page in (
        f"/rooms/{item.key}/?revision={revision.key}",
        f"/pictures/items/{item.key}/folder/",
    ):
        answer = client.get(page)
        assert answer.status_code == 200
        assert escape(why) in answer.content.decode()
