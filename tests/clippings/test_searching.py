"""Laid pictures are searched for photographed sources; what is found is only offered."""

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from board.books.models import Book, Item
from board.clippings.actions.documents import SentPaper, keep_document
from board.clippings.actions.records import Sent, enter_source, keep_photo
from board.clippings.actions.searching import search
from board.clippings.models import Clipping, ClippingPhoto, OfferedUse, Search, Use
from board.clippings.queries import documents_of, source_list
from board.clippings.queries.searching import offers_shown, searched
from board.clippings.tasks import search_picture, sweep
from board.errors import NotFound, NotPermitted, NotUnderstood, TooLarge
from board.repro import papers
from board.repro.store import drop_original, original_path
from board.revisions.models import Revision
from board.slips.actions import clearances
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import prepared, spread

pytestmark = pytest.mark.django_db
ART = (1285, 650)
WHERE = (700, 210)  # where the piece is pasted, in pixels of the art
PIECE = (slice(60, 340), slice(80, 440))


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, settings: Any) -> None:
    settings.BOARD_FOLDER = tmp_path
    settings.BOARD_DISK_RESERVE = 0


@pytest.fixture(autouse=True)
def commits_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tell listeners at once: a test's transaction is never committed."""
    monkeypatch.setattr("django.db.transaction.on_commit", lambda act, **_: act())


def wrapper() -> np.ndarray:
    """A printed paper with plenty to recognise on it."""
    big = cv2.resize(spread(77, (420, 320)), (840, 640), interpolation=cv2.INTER_CUBIC)
    return np.asarray(big)


def collage() -> np.ndarray:
    art = spread(9, ART).copy()
    piece = cv2.resize(wrapper()[PIECE], None, fx=0.8, fy=0.8)
    high, wide = piece.shape[:2]
    art[WHERE[1] : WHERE[1] + high, WHERE[0] : WHERE[0] + wide] = piece
    return art


def entered(cast: Cast, book: Book, code: str = "C07") -> Clipping:
    draft = {"code": code, "what": "A tin's wrapper."}
    return enter_source(by=cast.rights, book=book, draft=draft, event=make.event())


def photographed(cast: Cast, source: Clipping, tmp_path: Path) -> ClippingPhoto:
    path = tmp_path / "wrapper.png"
    Image.fromarray(wrapper()).save(path)
    sent = Sent(path, "wrapper.png", "uncut")
    return keep_photo(by=cast.rights, source=source, sent=sent, event=make.event())


def up(cast: Cast, item: Item, art: np.ndarray) -> Revision:
    revision = prepared(art, by=cast.illustrator, item=item)
    revision.number = 1
    revision.save(update_fields=["number"])
    return revision


def ran() -> list[str]:
    rows = Search.objects.filter(work=Search.State.WAITING)
    return [search_picture.call(key) for key in rows.values_list("key", flat=True)]


@pytest.mark.slow
def test_a_laid_picture_is_searched_and_what_is_found_is_offered_with_both_crops(
    cast: Cast, book: Book, item: Item, tmp_path: Path
) -> None:
    source = entered(cast, book)
    photographed(cast, source, tmp_path)
    up(cast, item, collage())
    assert ran() == ["done"]
    offered = OfferedUse.objects.get()
    assert source_list(item) == ()  # offered, never assumed
    xs, ys = zip(*offered.points, strict=True)
    left, right = ((WHERE[0] + across) / ART[0] for across in (0, 0.8 * 360))
    assert min(xs) == pytest.approx(left, abs=0.05)
    assert max(xs) == pytest.approx(right, abs=0.05)
    assert 0 <= min(ys) < max(ys) <= 1
    on_x = [x for x, _ in offered.on_photo]
    assert min(on_x) == pytest.approx(80 / 840, abs=0.06)
    assert max(on_x) == pytest.approx(440 / 840, abs=0.06)
    shown = offers_shown(book, cast.illustrator)[0]
    assert shown.art is not None
    assert shown.piece is not None
    page = Client()
    page.force_login(cast.rights)
    body = page.get(reverse("sources:list", args=[book.key])).content.decode()
    assert "perhaps on" in body
    assert body.count('class="source-window"') == 2
    assert "Offered, never assumed" in body


@pytest.mark.slow
def test_a_photograph_that_comes_later_has_every_laid_picture_searched(
    cast: Cast, book: Book, item: Item, tmp_path: Path
) -> None:
    up(cast, item, collage())
    assert Search.objects.count() == 0
    photographed(cast, entered(cast, book), tmp_path)
    assert searched(book).waiting == 1
    ran()
    assert OfferedUse.objects.count() == 1
    assert searched(book).done == 1


@pytest.mark.slow
def test_what_is_accepted_becomes_a_use_and_what_is_declined_is_not_offered_again(
    cast: Cast, book: Book, item: Item, tmp_path: Path
) -> None:
    source = entered(cast, book)
    photo = photographed(cast, source, tmp_path)
    revision = up(cast, item, collage())
    ran()
    offered = OfferedUse.objects.get()
    clearances.answer_offered(
        by=cast.rights, offered=offered, accepted=False, event=make.event()
    )
    assert offers_shown(book, cast.rights) == []
    Search.objects.all().delete()
    search([revision], [photo])
    ran()
    assert OfferedUse.objects.count() == 1
    assert Use.objects.count() == 0
    OfferedUse.objects.all().delete()
    Search.objects.all().delete()
    search([revision], [photo])
    ran()
    use = clearances.answer_offered(
        by=cast.rights,
        offered=OfferedUse.objects.get(),
        accepted=True,
        event=make.event(),
    )
    assert use is not None
    assert source_list(item) == (source.key,)
    OfferedUse.objects.all().delete()
    Search.objects.all().delete()
    search([revision], [photo])
    ran()
    assert OfferedUse.objects.count() == 0  # it is known to lie there


@pytest.mark.slow
def test_who_may_not_enter_sources_is_shown_no_offer_and_answers_none(
    cast: Cast, book: Book, item: Item, tmp_path: Path, client: Client
) -> None:
    photographed(cast, entered(cast, book), tmp_path)
    up(cast, item, collage())
    ran()
    key = OfferedUse.objects.get().key
    client.force_login(cast.author)
    page = client.get(reverse("sources:list", args=[book.key]))
    assert "perhaps on" not in page.content.decode()
    sent = {"answer": "accept", "event": make.event()}
    assert client.post(reverse("judging:offer", args=[key]), sent).status_code == 403


def test_a_search_that_was_let_fall_is_rung_for_again_and_a_lost_picture_is_told(
    cast: Cast, book: Book, item: Item, tmp_path: Path
) -> None:
    photo = photographed(cast, entered(cast, book), tmp_path)
    revision = make.revision(of=item, by=cast.illustrator, number=1)
    search([revision], [photo])
    assert sweep() == 1
    assert ran() == ["failed"]
    assert "not on the disk any more" in Search.objects.get().failure


def test_an_original_that_a_photograph_shares_is_not_dropped(
    cast: Cast, book: Book, tmp_path: Path
) -> None:
    photo = photographed(cast, entered(cast, book), tmp_path)
    drop_original(photo.sha256)
    assert original_path(photo.sha256).is_file()
    photo.delete()
    drop_original(photo.sha256)
    assert not original_path(photo.sha256).is_file()


def paper(tmp_path: Path, body: bytes, name: str = "leave.pdf") -> SentPaper:
    path = tmp_path / "sent"
    path.write_bytes(body)
    return SentPaper(path, name)


def test_rights_alone_keeps_and_reads_the_document_of_a_grant(
    cast: Cast, book: Book, tmp_path: Path
) -> None:
    source = entered(cast, book)
    sent = paper(
        tmp_path, b"%PDF-1.7\n%leave\n", "../../C:\\letters\\lettre à l\u2019accord.pdf"
    )
    with pytest.raises(NotPermitted):
        keep_document(by=cast.illustrator, source=source, sent=sent, event=make.event())
    event = make.event()
    kept = keep_document(by=cast.rights, source=source, sent=sent, event=event)
    again = keep_document(by=cast.rights, source=source, sent=sent, event=event)
    assert again.pk == kept.pk
    assert kept.filename == "lettre à l\u2019accord.pdf"
    assert original_path(kept.sha256).read_bytes().startswith(b"%PDF")
    assert [one.pk for one, _ in documents_of(source, cast.rights)] == [kept.pk]
    assert documents_of(source, cast.illustrator) == []
    drop_original(kept.sha256)
    assert original_path(kept.sha256).is_file()


@pytest.mark.parametrize(
    ("body", "refusal"),
    [
        (b"<html><script>alert(1)</script>", NotUnderstood),
        (b"MZ\x90\x00", NotUnderstood),
        (b"", NotUnderstood),
        (b"%PDF-" + bytes(200), TooLarge),
    ],
)
def test_a_document_that_is_none_empty_or_huge_is_refused(
    body: bytes,
    refusal: type[Exception],
    cast: Cast,
    book: Book,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("board.clippings.actions.documents.MOST_BYTES", 100)
    source = entered(cast, book)
    with pytest.raises(refusal):
        keep_document(
            by=cast.rights,
            source=source,
            sent=paper(tmp_path, body),
            event=make.event(),
        )
    assert source.documents.count() == 0


def test_a_paper_is_known_by_its_first_bytes(tmp_path: Path) -> None:
    for body, kind in ((b"\xff\xd8\xff\xe0", "JPEG"), (b"II*\x00", "TIFF")):
        assert papers.require_paper(paper(tmp_path, body).path) == kind


def test_a_stranger_finds_no_offer(cast: Cast, book: Book, item: Item) -> None:
    from board.clippings.queries import offer_for  # noqa: PLC0415

    with pytest.raises(NotFound):
        offer_for(cast.stranger, "made-up")
