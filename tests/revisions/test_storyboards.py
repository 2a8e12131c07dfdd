"""One sheet of thumbnails: sent, cut, mended, and laid out as revisions."""

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import Person
from board.books.models import Book
from board.books.rules import Kind, Stage
from board.daybook.models import Entry
from board.errors import NotUnderstood
from board.permits import Role
from board.repro import store
from board.revisions.actions.uploads import UploadDraft, start_upload
from board.revisions.models import Revision, StoryboardSheet, Upload
from board.revisions.queries import reference_for
from board.revisions.rules import Place
from board.revisions.rules.storyboards import items_for, require_frame
from board.revisions.tasks import cut_sheet, prepare
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import give_bytes, jpeg, spread
from tests.revisions.storyboards import (
    BODY,
    SIZE,
    Corners,
    opened,
    said,
    sheet_cut,
    sheet_sent,
    square,
)

pytestmark = pytest.mark.django_db


def _as(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def page(sheet: StoryboardSheet) -> str:
    return reverse("revisions:storyboard", args=[sheet.key])


@pytest.mark.slow
def test_a_sheet_goes_from_its_bytes_to_laid_revisions(cast: Cast, book: Book) -> None:
    items = opened(book)[:12]
    client = _as(cast.illustrator)
    answer = client.post(
        reverse("revisions:storyboards", args=[book.key]),
        {"file": SimpleUploadedFile("all.jpg", BODY)},
        follow=True,
    )
    assert "its frames are looked for" in answer.content.decode()
    sheet = StoryboardSheet.objects.get()
    cut_sheet.call(sheet.key)
    sheet.refresh_from_db()
    assert len(sheet.frames) == 12, sheet.failure or sheet.doubts
    for number, frame in enumerate(sheet.frames):
        assert np.allclose(frame["corners"], square(number), atol=0.01), number
    frames = [
        (item.key, frame["corners"])
        for item, frame in zip(items, sheet.frames, strict=True)
    ]
    answer = client.post(page(sheet), said(frames), follow=True)
    assert "12 frames go into their folders" in answer.content.decode()
    made = list(Revision.objects.order_by("frame"))
    assert [one.item_id for one in made] == [item.pk for item in items]
    assert {one.stage for one in made} == {Stage.THUMBNAILS}
    prepare.call(made[4].key)
    made[4].refresh_from_db()
    assert made[4].laid == Revision.Laid.CORNERS
    assert made[4].picture
    # A corner of the frame comes to lie on a corner of the trim.
    width, height = SIZE
    x, y = (np.array(square(4)[2]) * (width, height)).tolist()
    on = np.array(made[4].matrix) @ (x, y, 1)
    assert np.allclose(on[:2] / on[2], (1, 1), atol=0.02)
    assert store.original_path(made[4].sha256).read_bytes() == BODY


def test_each_frame_says_from_which_sheet_and_corners_it_came(
    cast: Cast, book: Book
) -> None:
    items = opened(book)
    sheet = sheet_cut(cast.illustrator, book, 2)
    frames = [(items[0].key, square(0)), (items[1].key, square(1))]
    _as(cast.illustrator).post(page(sheet), said(frames))
    one, two = Revision.objects.order_by("frame")
    assert one.sha256 == two.sha256 == sheet.sha256
    assert (two.storyboard, two.frame) == (sheet, 2)
    assert [point["here"] for point in two.points] == [
        pytest.approx(corner, abs=1e-4) for corner in square(1)
    ]
    entry = Entry.objects.get(about_key=two.key)
    assert entry.details["storyboard"] == sheet.key
    assert entry.details["frame"] == 2
    assert len(entry.details["corners"]) == 4


def test_a_frame_is_never_registered_on_an_older_thumbnail(
    cast: Cast, book: Book
) -> None:
    first = opened(book)[0]
    older = make.revision(
        of=first, by=cast.illustrator, stage=Stage.THUMBNAILS, number=1
    )
    sheet = sheet_cut(cast.illustrator, book, 1)
    _as(cast.illustrator).post(page(sheet), said([(first.key, square(0))]))
    frame = Revision.objects.get(storyboard=sheet)
    assert reference_for(frame) == older
    assert frame.laid == frame.declared == "corners"


def test_a_resent_form_lays_nothing_out_twice(cast: Cast, book: Book) -> None:
    first = opened(book)[0]
    sheet = sheet_cut(cast.illustrator, book, 1)
    data = said([(first.key, square(0))])
    client = _as(cast.illustrator)
    assert client.post(page(sheet), data).status_code == 302
    assert client.post(page(sheet), data).status_code == 302
    assert Revision.objects.count() == 1
    again = client.post(page(sheet), data | {"event": make.event()})
    assert again.status_code in {200, 422}
    assert Revision.objects.count() == 1


def test_what_cannot_be_laid_out_is_said_and_nothing_typed_is_lost(
    cast: Cast, book: Book
) -> None:
    one, *_ = opened(book)
    shut = book.items.get(kind=Kind.JACKET)
    sheet = sheet_cut(cast.illustrator, book, 2)
    client = _as(cast.illustrator)
    crossed = [square(0)[0], square(0)[2], square(0)[1], square(0)[3]]
    cases: list[tuple[list[tuple[str, Corners]], str]] = [
        ([(one.key, square(0)), (one.key, square(1))], "for the same item"),
        ([(one.key, crossed)], "do not go round"),
        ([("", square(0))], "which item it is"),
        ([(shut.key, square(0))], "Select a valid choice"),
        ([(one.key, square(0)[:3])], "Give all four corners"),
        ([(one.key, [])], "Give the four corners"),
        ([(one.key, [[0, 0], [0.01, 0], [0.01, 0.01], [0, 0.01]])], "too small"),
    ]
    for frames, says in cases:
        answer = client.post(page(sheet), said(frames))
        assert answer.status_code == 422, says
        text = answer.content.decode()
        assert says in text
        if frames[0][1]:
            assert f'value="{frames[0][1][0][0] * 100:.3f}"' in text
    assert not Revision.objects.exists()


def test_the_same_sheet_fills_no_item_twice(cast: Cast, book: Book) -> None:
    first = opened(book)[0]
    sheet = sheet_cut(cast.illustrator, book, 1)
    make.revision(
        of=first, by=cast.illustrator, stage=Stage.THUMBNAILS, sha256=sheet.sha256
    )
    answer = _as(cast.illustrator).post(page(sheet), said([(first.key, square(0))]))
    assert "already lies in the folder" in answer.content.decode()


def test_a_mended_cut_is_kept_for_later(cast: Cast, book: Book) -> None:
    first = opened(book)[0]
    sheet = sheet_cut(cast.illustrator, book, 2)
    frames = [(first.key, square(3)), ("", square(4)), ("", square(5))]
    _as(cast.illustrator).post(page(sheet), said(frames, act="keep"))
    sheet.refresh_from_db()
    assert [frame["item"] for frame in sheet.frames] == [first.key, "", ""]
    assert not Revision.objects.exists()


def test_a_sheet_is_its_senders_alone(cast: Cast, book: Book) -> None:
    sheet = sheet_cut(cast.illustrator, book)
    second = make.person()
    make.credit(on=book, who=second, role=Role.ILLUSTRATOR)
    assert _as(cast.illustrator).get(page(sheet)).status_code == 200
    for other in (second, cast.art_director, cast.stranger):
        assert _as(other).get(page(sheet)).status_code == 404


def test_the_whole_sheet_is_no_original_for_the_house(cast: Cast, book: Book) -> None:
    first = opened(book)[0]
    sheet = sheet_cut(cast.illustrator, book, 1)
    frame = make.revision(
        of=first,
        by=cast.illustrator,
        stage=Stage.THUMBNAILS,
        number=1,
        sha256=sheet.sha256,
    )
    frame.storyboard, frame.frame = sheet, 1
    frame.save()
    address = reverse("revisions:original", args=[frame.key])
    assert _as(cast.illustrator).get(address).status_code == 302
    refused = _as(cast.art_director).get(address)
    assert refused.status_code == 403
    assert "stays with its illustrator" in refused.content.decode()
    told = _as(cast.art_director).get(reverse("api:revision", args=[frame.key]))
    assert told.json()["original"] == ""


def test_doubts_are_said_and_asked(cast: Cast, book: Book) -> None:
    opened(book)
    sheet = sheet_cut(cast.illustrator, book)
    sheet.sure, sheet.doubts = False, ["a frame is hardly drawn"]
    sheet.save()
    text = _as(cast.illustrator).get(page(sheet)).content.decode()
    assert "not sure of this cut" in text
    assert "A frame is hardly drawn." in text


def test_what_is_no_picture_is_refused_with_words(cast: Cast, book: Book) -> None:
    address = reverse("revisions:storyboards", args=[book.key])
    client = _as(cast.illustrator)
    letter = SimpleUploadedFile("all.jpg", b"Dear Sir")
    text = client.post(address, {"file": letter}, follow=True).content.decode()
    assert "This is not a picture the board knows." in text
    assert client.post(address, {}).status_code == 422
    assert not StoryboardSheet.objects.exists()


def test_a_picture_with_broken_insides_fails_in_words(cast: Cast, book: Book) -> None:
    broken = jpeg(spread(size=(257, 130)))[:3000]
    sheet = sheet_sent(cast.illustrator, book, broken)
    cut_sheet.call(sheet.key)
    sheet.refresh_from_db()
    assert sheet.work == StoryboardSheet.State.FAILED
    answer = _as(cast.illustrator).get(page(sheet))
    assert sheet.failure in answer.content.decode().replace("&#x27;", "'")


def test_the_very_same_sheet_comes_in_once(cast: Cast, book: Book) -> None:
    sheet_sent(cast.illustrator, book)
    draft = UploadDraft("again.jpg", len(BODY), storyboard=True)
    upload = start_upload(by=cast.illustrator, book=book, draft=draft)
    give_bytes(upload, BODY)
    assert upload.state == Upload.State.REFUSED
    assert "very same sheet" in upload.refused


def test_the_cuts_page_asks_as_little_for_many_frames(cast: Cast, book: Book) -> None:
    opened(book)
    client = _as(cast.illustrator)
    counts = []
    for frames in (2, 40):
        sheet = sheet_cut(cast.illustrator, book, frames)
        client.get(page(sheet))
        with CaptureQueriesContext(connection) as seen:
            assert client.get(page(sheet)).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1] <= 20, counts


def test_frames_fall_to_the_story_first_then_to_what_is_drawn() -> None:
    story = [
        Place(f"s{n}", Kind.SPREAD, 4 + 2 * n, 5 + 2 * n, story=True) for n in range(12)
    ]
    title, jacket = Place("t", Kind.TITLE, 1, 1), Place("j", Kind.JACKET, 0, 0)
    places = [jacket, title, *story]
    assert items_for(12, places) == [place.key for place in story]
    assert items_for(13, places) == ["t", *(place.key for place in story)]
    assert items_for(14, places)[:2] == ["j", "t"]
    assert items_for(16, places)[14:] == ["", ""]
    assert items_for(3, []) == ["", "", ""]


@pytest.mark.parametrize("turned", range(1, 4))
def test_corners_may_be_turned_but_not_crossed(turned: int) -> None:
    corners = square(0)
    require_frame(corners[turned:] + corners[:turned])
    with pytest.raises(NotUnderstood):
        require_frame(corners[::-1])
