"""Files on their way in."""

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from typing import Any

import pytest
from django.utils import timezone

from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.errors import DiskNearlyFull, NotPermitted, TooLarge, WrongMove
from board.repro import store
from board.repro import uploads as parts
from board.revisions.actions import number_it, uploads
from board.revisions.actions.uploads import UploadDraft, start_upload
from board.revisions.models import Revision, Upload
from board.revisions.queries import uploads as incoming
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import give_bytes, jpeg, png, sent, spread

pytestmark = pytest.mark.django_db
SMALL = (257, 130)


@pytest.fixture(autouse=True)
def _same_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the door from closing the connection that holds the test's transaction."""
    monkeypatch.setattr(parts, "close_old_connections", lambda: None)


State = Upload.State


def test_a_file_from_the_items_page_goes_straight_into_its_folder(
    cast: Cast, item: Item
) -> None:
    body = png(spread(size=SMALL))
    upload = sent(body, "anything.png", by=cast.illustrator, item=item)
    assert upload.state == State.TAKEN_IN
    revision = Revision.objects.get(upload=upload)
    assert (revision.item, revision.stage, revision.number) == (item, "sketch", None)
    assert store.original_path(revision.sha256).read_bytes() == body
    assert not store.part_path(upload.key).exists()


def test_a_name_keeps_no_sign_that_breaks_its_line_or_turns_it_about(
    cast: Cast, item: Item, book: Book
) -> None:
    draft = UploadDraft("a</script>\r\nX-Evil: 1\u202egnp.jpg", 9, item)
    upload = start_upload(by=cast.illustrator, book=book, draft=draft)
    assert upload.filename == "a</script>X-Evil: 1gnp.jpg"


def test_a_file_matched_by_its_name_waits_for_a_word(
    cast: Cast, book: Book, item: Item
) -> None:
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    body = png(spread(size=SMALL))
    upload = start_upload(
        by=cast.illustrator, book=book, draft=UploadDraft("08-09.png", len(body))
    )
    assert (upload.item, upload.stage, upload.sure) == (item, "sketch", False)
    give_bytes(upload, body)
    assert upload.state == State.ARRIVED
    other = book.items.get(label="10-11")
    uploads.correct_match(
        upload, item=other, stage="sketch", declared="trimmed", by=cast.illustrator
    )
    made = uploads.confirm_match(upload, by=cast.illustrator, event=make.event())
    assert made is not None
    assert (made.item, made.declared) == (other, "trimmed")
    again = uploads.confirm_match(upload, by=cast.illustrator, event=make.event())
    assert again == made


def test_a_match_confirmed_early_takes_effect_with_the_last_byte(
    cast: Cast, book: Book, item: Item
) -> None:
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    body = png(spread(size=SMALL))
    upload = start_upload(
        by=cast.illustrator, book=book, draft=UploadDraft("p8.png", len(body))
    )
    said = uploads.confirm_match(upload, by=cast.illustrator, event=make.event())
    assert said is None
    give_bytes(upload, body)
    assert upload.state == State.TAKEN_IN


@pytest.mark.parametrize(
    ("body", "filename", "says"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "8-9.svg", "SVG"),
        (b"GIF89a" + b"\0" * 40, "8-9.gif", "GIF"),
        (b"hello, this is a letter", "8-9.jpg", "not a picture"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 64, "8-9.jpg", "named .jpg"),
    ],
)
def test_what_is_no_picture_is_refused_and_leaves_nothing(
    cast: Cast, item: Item, body: bytes, filename: str, says: str
) -> None:
    upload = sent(body, filename, by=cast.illustrator, item=item)
    assert upload.state == State.REFUSED
    assert says in upload.refused
    assert not store.part_path(upload.key).exists()
    assert not store.original_path(sha256(body).hexdigest()).exists()
    assert not Revision.objects.exists()


def test_the_same_bytes_as_the_current_revision_are_refused(
    cast: Cast, item: Item
) -> None:
    body = jpeg(spread(size=SMALL))
    first = sent(body, "8-9.jpg", by=cast.illustrator, item=item)
    number_it(Revision.objects.get(upload=first), now=make.NOW)
    again = sent(body, "8-9 new.jpg", by=cast.illustrator, item=item)
    assert again.state == State.REFUSED
    assert "byte for byte the current revision 1" in again.refused


def test_the_same_bytes_twice_in_the_folder_are_refused(cast: Cast, item: Item) -> None:
    body = jpeg(spread(size=SMALL))
    sent(body, "8-9.jpg", by=cast.illustrator, item=item)
    again = sent(body, "8-9.jpg", by=cast.illustrator, item=item)
    assert "already lies in the folder" in again.refused


def test_only_illustrators_send(cast: Cast, book: Book) -> None:
    for person in (cast.editor, cast.art_director, cast.stranger):
        with pytest.raises(NotPermitted):
            start_upload(by=person, book=book, draft=UploadDraft("a.png", 10))


def test_a_file_too_large_or_a_disk_too_full_is_told_before_the_first_byte(
    cast: Cast, book: Book, settings: Any
) -> None:
    settings.BOARD_MAX_BYTES = 100
    with pytest.raises(TooLarge):
        start_upload(by=cast.illustrator, book=book, draft=UploadDraft("a.png", 101))
    settings.BOARD_DISK_RESERVE = store.free_bytes() * 2
    with pytest.raises(DiskNearlyFull):
        start_upload(by=cast.illustrator, book=book, draft=UploadDraft("a.png", 99))
    assert not Upload.objects.exists()


def test_one_person_has_only_so_many_on_the_way(
    cast: Cast, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "MOST_UNDERWAY", 2)
    for name in ("a.png", "b.png"):
        start_upload(by=cast.illustrator, book=book, draft=UploadDraft(name, 10))
    with pytest.raises(WrongMove):
        start_upload(by=cast.illustrator, book=book, draft=UploadDraft("c.png", 10))


def test_arriving_may_be_told_twice(cast: Cast, item: Item) -> None:
    upload = sent(png(spread(size=SMALL)), "a.png", by=cast.illustrator, item=item)
    path = store.part_path(upload.key)
    uploads.arrived(upload.key, path, upload.sha256)
    assert Revision.objects.count() == 1


def test_a_kill_between_the_file_and_its_row_is_made_good_by_the_sweep(
    cast: Cast, item: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    body = png(spread(size=SMALL))
    with monkeypatch.context() as patched:
        patched.setattr(uploads, "_note_arrival", killed)
        with pytest.raises(KeyboardInterrupt):
            sent(body, "a.png", by=cast.illustrator, item=item)
    assert not Revision.objects.exists()
    uploads.sweep_uploads()
    assert Revision.objects.count() == 1


def test_a_credit_that_ended_meanwhile_keeps_the_file_out(
    cast: Cast, book: Book, item: Item
) -> None:
    body = png(spread(size=SMALL))
    draft = UploadDraft("a.png", len(body), item, "sketch")
    upload = start_upload(by=cast.illustrator, book=book, draft=draft)
    book.credits.filter(person=cast.illustrator).update(ended_at=timezone.now())
    give_bytes(upload, body)
    assert upload.state == State.REFUSED
    assert "ended" in upload.refused


def test_what_is_left_out_leaves_the_disk(
    cast: Cast,
    book: Book,
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    body = png(spread(size=SMALL))
    upload = start_upload(
        by=cast.illustrator, book=book, draft=UploadDraft("goat.png", len(body))
    )
    give_bytes(upload, body)
    assert upload.state == State.ARRIVED
    kept = store.original_path(upload.sha256)
    assert kept.exists()
    with django_capture_on_commit_callbacks(execute=True):
        uploads.end_upload(upload)
    assert not kept.exists()


def test_what_nobody_matched_in_time_ends(cast: Cast, book: Book) -> None:
    upload = start_upload(
        by=cast.illustrator, book=book, draft=UploadDraft("goat.png", 10)
    )
    upload.expires_at = timezone.now() - timedelta(days=1)
    upload.save()
    assert uploads.sweep_uploads() == 1
    upload.refresh_from_db()
    assert upload.state == State.ENDED


def test_a_client_may_create_its_upload_at_the_door(cast: Cast, book: Book) -> None:
    payload = {"by": cast.illustrator.key, "book": book.key}
    key = uploads.created(payload, 10, "8-9.png")
    assert Upload.objects.get(key=key).filename == "8-9.png"
    assert incoming.upload_for(cast.illustrator, key).length == 10
