"""Uploads, revisions and comparisons for programs."""

from typing import Any

import pytest
from django.test import Client

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.light_table.models import Comparison
from board.revisions.models import Revision, Upload
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import give_bytes, png, spread

pytestmark = pytest.mark.django_db
BODY = png(spread(size=(257, 130)))
JSON = "application/json"


def _as(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def _begin(client: Client, book: Book, **more: Any) -> Any:
    said = {"book": book.key, "filename": "8-9.png", "length": len(BODY), **more}
    return client.post("/api/uploads/", said, content_type=JSON)


def test_an_upload_is_begun_and_its_bytes_have_an_address(
    cast: Cast, book: Book, item: Item
) -> None:
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    client = _as(cast.illustrator)
    answer = _begin(client, book)
    assert answer.status_code == 201
    told = answer.json()
    assert answer["Location"] == told["tus"]
    assert told["tus"].startswith(f"/u/{told['key']}?ticket=")
    assert (told["item"], told["sure"]) == (item.key, False)
    assert told["state"] == "receiving"
    listed = client.get("/api/uploads/", {"book": book.key}).json()
    assert [one["key"] for one in listed] == [told["key"]]


def test_a_match_is_corrected_and_confirmed(cast: Cast, book: Book, item: Item) -> None:
    client = _as(cast.illustrator)
    told = _begin(client, book).json()
    upload = Upload.objects.get(key=told["key"])
    give_bytes(upload, BODY)
    address = f"/api/uploads/{upload.key}/"
    mark = client.get(address)["ETag"]
    said = {"item": item.key, "stage": "sketch", "confirm": True}
    stale = client.patch(
        address, said, content_type=JSON, headers={"if-match": '"old"'}
    )
    assert stale.status_code == 412
    assert stale["Content-Type"] == "application/problem+json"
    done = client.patch(address, said, content_type=JSON, headers={"if-match": mark})
    assert done.status_code == 200
    assert done.json()["state"] == "taken in"
    assert done.json()["revision"] == Revision.objects.get().key


def test_an_upload_is_left_out(cast: Cast, book: Book) -> None:
    client = _as(cast.illustrator)
    key = _begin(client, book).json()["key"]
    assert client.delete(f"/api/uploads/{key}/").status_code == 204
    assert Upload.objects.get().state == Upload.State.ENDED


@pytest.mark.parametrize(
    ("who", "status"), [("editor", 403), ("author", 403), ("stranger", 404)]
)
def test_nobody_else_begins_an_upload(
    cast: Cast, book: Book, who: str, status: int
) -> None:
    assert _begin(_as(getattr(cast, who)), book).status_code == status


def test_an_upload_is_its_senders_own(cast: Cast, book: Book) -> None:
    key = _begin(_as(cast.illustrator), book).json()["key"]
    for person in (cast.editor, cast.stranger):
        assert _as(person).get(f"/api/uploads/{key}/").status_code == 404


def test_nonsense_is_a_problem_in_words(cast: Cast, book: Book, settings: Any) -> None:
    client = _as(cast.illustrator)
    assert _begin(client, book, length=0).status_code == 422
    assert _begin(client, book, declared="sideways").status_code == 422
    settings.BOARD_MAX_BYTES = 10
    refused = _begin(client, book)
    assert refused.status_code == 413
    assert "MB" in refused.json()["detail"]


def test_revisions_are_told_to_each_as_they_may_see_them(
    cast: Cast, item: Item
) -> None:
    up = make.revision(of=item, by=cast.illustrator, number=1)
    lying = make.revision(of=item, by=cast.illustrator)
    address = f"/api/items/{item.key}/revisions/"
    artist = _as(cast.illustrator).get(address).json()["results"]
    assert {one["key"] for one in artist} == {up.key, lying.key}
    author = _as(cast.author).get(address).json()["results"]
    assert [one["key"] for one in author] == [up.key]
    assert author[0]["original"] == ""
    assert _as(cast.designer).get(address).json()["results"][0]["original"]
    assert _as(cast.stranger).get(address).status_code == 404


def test_one_revision_is_told_with_a_mark(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    address = f"/api/revisions/{lying.key}/"
    answer = _as(cast.illustrator).get(address)
    assert answer.status_code == 200
    assert answer["ETag"].startswith('"')
    assert answer.json()["how_laid"].startswith("Laid by its word")
    assert _as(cast.editor).get(address).status_code == 403
    assert _as(cast.stranger).get(address).status_code == 404


def test_a_comparison_is_asked_for_and_looked_at(cast: Cast, item: Item) -> None:
    before = make.revision(of=item, by=cast.illustrator, number=1)
    after = make.revision(of=item, by=cast.illustrator, number=2)
    client = _as(cast.author)
    said = {"before": before.key, "after": after.key}
    asked = client.post("/api/comparisons/", said, content_type=JSON)
    assert asked.status_code == 202
    key = asked.json()["key"]
    assert asked.json()["says"] == "Waiting for its turn."
    looked = client.get(f"/api/comparisons/{key}/")
    assert looked.json()["state"] == "waiting"
    assert _as(cast.stranger).get(f"/api/comparisons/{key}/").status_code == 404
    assert Comparison.objects.count() == 1
    same = {"before": before.key, "after": before.key}
    refused = client.post("/api/comparisons/", same, content_type=JSON)
    assert refused.status_code == 422
