"""The folder's pages: for illustrators, and working without scripts."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.revisions.models import Revision, Upload
from board.revisions.tasks import prepare
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import png, spread

pytestmark = pytest.mark.django_db
BODY = png(spread(size=(257, 130)))


def _as(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def _page(name: str, key: str) -> str:
    return reverse(f"revisions:{name}", args=[key])


@pytest.mark.parametrize(
    ("who", "status"),
    [("illustrator", 200), ("editor", 403), ("author", 403), ("stranger", 404)],
)
def test_the_folder_opens_to_illustrators_only(
    cast: Cast, item: Item, who: str, status: int
) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    client = _as(getattr(cast, who))
    for address in (
        _page("send", item.book.key),
        _page("match", item.book.key),
        _page("folder", item.key),
        _page("progress", lying.key),
        _page("lay", lying.key),
    ):
        assert client.get(address).status_code == status, address


def test_without_signing_in_every_page_leads_to_the_door(book: Book) -> None:
    answer = Client().get(_page("send", book.key))
    assert answer.status_code == 302
    assert "sign-in" in answer["Location"]


def test_files_go_in_by_a_plain_form(cast: Cast, book: Book, item: Item) -> None:
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    client = _as(cast.illustrator)
    files = [
        SimpleUploadedFile("8-9.png", BODY),
        SimpleUploadedFile("letter.jpg", b"Dear Sir"),
    ]
    said = {"files": files, "item": "", "declared": "bled"}
    answer = client.post(_page("send", book.key), said, follow=True)
    text = answer.content.decode()
    assert "8-9.png is here." in text
    assert "letter.jpg: This is not a picture the board knows." in text
    upload = Upload.objects.get(state=Upload.State.ARRIVED)
    assert answer.redirect_chain[-1][0] == _page("match", book.key)
    assert "The name says pages 8-9." in text
    confirmed = client.post(
        _page("match", book.key),
        {
            f"{upload.key}-take": "on",
            f"{upload.key}-item": item.key,
            f"{upload.key}-stage": "sketch",
            f"{upload.key}-declared": "bled",
        },
        follow=True,
    )
    assert "8-9.png goes to 8-9." in confirmed.content.decode()
    assert Revision.objects.get().item == item


def test_a_match_that_lacks_something_stays_on_the_page(cast: Cast, book: Book) -> None:
    client = _as(cast.illustrator)
    said = {"files": [SimpleUploadedFile("goat.png", BODY)], "declared": "bled"}
    client.post(_page("send", book.key), said)
    upload = Upload.objects.get()
    answer = client.post(
        _page("match", book.key),
        {f"{upload.key}-take": "on", f"{upload.key}-declared": "bled"},
    )
    assert "Choose its item and its stage first." in answer.content.decode()
    assert not Revision.objects.exists()


def test_a_file_sent_from_the_items_page_needs_no_match(
    cast: Cast, book: Book, item: Item
) -> None:
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    client = _as(cast.illustrator)
    said = {
        "files": [SimpleUploadedFile("x.png", BODY)],
        "item": item.key,
        "declared": "bled",
    }
    client.post(_page("send", book.key), said)
    revision = Revision.objects.get()
    page = client.get(_page("folder", item.key)).content.decode()
    assert "Received. Checking what the file is." in page
    prepare.call(revision.key)
    page = client.get(_page("folder", item.key)).content.decode()
    assert "Laid by its word" in page
    assert "Send up" in page


def test_progress_is_told_to_scripts(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    told = _as(cast.illustrator).get(
        _page("progress", lying.key), headers={"accept": "application/json"}
    )
    assert told.json()["over"] is True
    assert told.json()["folder"] == _page("folder", item.key)


def test_a_revision_is_laid_again_by_typing_numbers(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    client = _as(cast.illustrator)
    said: dict[str, Any] = {"how": "corners", "event": make.event()}
    corners = [(10, 8), (92, 10), (90, 93), (9, 90)]
    for number, (x, y) in enumerate(corners, start=1):
        said |= {f"here-{number}-x": x, f"here-{number}-y": y}
    answer = client.post(_page("lay", lying.key), said)
    assert answer.status_code == 302
    lying.refresh_from_db()
    assert lying.work == Revision.State.WAITING
    assert lying.points[1] == {"here": [0.92, 0.1]}


def test_too_few_points_are_told_and_nothing_typed_is_lost(
    cast: Cast, item: Item
) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    said = {
        "how": "pairs",
        "event": make.event(),
        "here-1-x": "12.5",
        "here-1-y": "3",
        "there-1-x": "11",
        "there-1-y": "2",
    }
    page = _as(cast.illustrator).post(_page("lay", lying.key), said).content.decode()
    assert "Mark 2 to 4 pairs of points" in page
    assert 'value="12.5"' in page


def test_putting_away_is_offered_back(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    client = _as(cast.illustrator)
    said = {"event": make.event()}
    page = client.post(_page("put-away", lying.key), said, follow=True)
    assert "Take it out again" in page.content.decode()
    client.post(_page("put-away", lying.key), {"event": make.event(), "undo": "1"})
    lying.refresh_from_db()
    assert lying.put_away_at is None


@pytest.mark.parametrize(
    ("who", "status"), [("designer", 302), ("author", 403), ("stranger", 404)]
)
def test_originals_follow_the_table_of_permits(
    cast: Cast, item: Item, who: str, status: int
) -> None:
    up = make.revision(of=item, by=cast.illustrator, number=1)
    answer = _as(getattr(cast, who)).get(_page("original", up.key))
    assert answer.status_code == status


def test_the_send_page_asks_the_database_no_more_for_more_files(
    cast: Cast, book: Book, item: Item, django_assert_max_num_queries: Any
) -> None:
    for _ in range(12):
        make.revision(of=item, by=cast.illustrator)
    client = _as(cast.illustrator)
    with django_assert_max_num_queries(12):
        client.get(_page("send", book.key))
