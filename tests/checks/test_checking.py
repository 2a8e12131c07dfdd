"""From a laid picture to its checks, again when boxes or settings change."""

import hashlib
import re
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from accounts.models import Person
from board.books.actions import change_book
from board.books.actions.boxes import Place, place_box
from board.books.models import Book, Item
from board.books.rules import Stage
from board.checks.actions import check
from board.checks.actions.press import ConditionDraft, set_condition
from board.checks.models import CheckRun, PrintingCondition
from board.checks.queries import at_final, band_share, checks_for, run_of
from board.checks.queries.terms import condition_of
from board.checks.rules import Level
from board.checks.tasks import check_revision, sweep
from board.errors import NotFound, NotPermitted, NotUnderstood
from board.repro import store
from board.repro.profiles import profile_path, stand_in
from board.revisions.models import Revision
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import prepared, spread

pytestmark = pytest.mark.django_db
BLED = (1029, 521)  # 2 pixels a millimetre on a 10 inch spread with 3 mm bleed
DRAFT = ConditionDraft("Offset, uncoated", 280.0, "the printer's guide")


@pytest.fixture(autouse=True)
def commits_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tell listeners at once: a test's transaction is never committed."""
    monkeypatch.setattr("django.db.transaction.on_commit", lambda act, **_: act())


def art(*, white_px: int = 0) -> np.ndarray:
    picture = spread(3, BLED).copy()
    if white_px:
        picture[:, -white_px:] = 254
    return np.asarray(picture, np.uint8)


def final(cast: Cast, item: Item, **more: Any) -> Revision:
    revision = prepared(art(**more), by=cast.illustrator, item=item, stage=Stage.FINAL)
    revision.number = 1
    revision.save(update_fields=["number"])
    return revision


def checked(revision: Revision) -> CheckRun:
    run = run_of(revision)
    assert run is not None
    check_revision.call(run.key)
    run.refresh_from_db()
    assert run.work == CheckRun.State.DONE, run.failure
    return run


def level(run: CheckRun, name: str) -> str:
    return next(str(one["level"]) for one in run.findings if one["check"] == name)


def test_a_laid_final_is_checked_and_a_strip_stops_it(cast: Cast, item: Item) -> None:
    revision = final(cast, item, white_px=4)
    run = checked(revision)
    assert level(run, "bleed") == Level.STOP
    told = at_final([item])[item.pk].stops
    assert any(
        re.match(r"Check at stop: bleed, right edge, [12]\.\d mm", t) for t in told
    )
    assert "Check at stop: resolution, 51 ppi." in told
    folder = store.picture_folder(run.picture)
    assert {file.name for file in folder.iterdir()} == {
        "proof.jpg", "gamut.png", "ink.png"
    }  # fmt: skip
    seen = checks_for(cast.production, revision)
    assert seen.level is Level.STOP
    assert seen.stops == told
    assert seen.proof.endswith("/proof.jpg")


def test_a_sketch_never_stops(cast: Cast, item: Item) -> None:
    revision = prepared(art(white_px=4), by=cast.illustrator, item=item)
    run = checked(revision)
    assert level(run, "bleed") == Level.WARN
    assert Level.STOP not in [one["level"] for one in run.findings]
    assert at_final([item]) == {}


def test_boxes_and_settings_ask_for_the_checks_again(
    cast: Cast,
    item: Item,
    book: Book,
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: Any,
) -> None:
    revision = final(cast, item)
    first = checked(revision)
    assert level(first, "gutter") == Level.UNKNOWN
    monkeypatch.undo()  # from here on listeners are told after the act, as in use
    head = Place(0.46, 0.3, 0.09, 0.18)
    with django_capture_on_commit_callbacks(execute=True):
        place_box(item, head, by=cast.designer, sort="focal", label="Granna's head")
    second = checked(revision)
    assert second.pk != first.pk
    assert level(second, "gutter") == Level.WARN
    assert not CheckRun.objects.filter(pk=first.pk).exists()
    book.refresh_from_db()
    with django_capture_on_commit_callbacks(execute=True):
        change_book(
            book, {"gutter_mm": 0.1}, by=cast.art_director, version=book.version
        )
    third = checked(revision)
    assert third.pk != second.pk


def test_nothing_is_asked_twice_for_the_same_terms(cast: Cast, item: Item) -> None:
    revision = final(cast, item)
    run = checked(revision)
    again = check(revision)
    assert again is not None
    assert again.pk == run.pk
    assert again.work == CheckRun.State.DONE


def test_stops_of_many_items_take_two_queries(
    cast: Cast, book: Book, django_assert_num_queries: Any
) -> None:
    items = list(book.items.all())
    for one in items[:6]:
        revision = make.revision(
            of=one, by=cast.illustrator, stage=Stage.FINAL, number=1
        )
        run = check(revision)
        assert run is not None
        run.work = CheckRun.State.DONE
        run.findings = [{"check": "bleed", "level": "stop", "figure": "left edge"}]
        run.save()
    with django_assert_num_queries(2):
        told = at_final(items)
    assert len(told) == 6


def test_only_the_current_final_counts(cast: Cast, item: Item) -> None:
    old = make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL, number=1)
    run = check(old)
    assert run is not None
    run.work = CheckRun.State.DONE
    run.findings = [{"check": "bleed", "level": "stop", "figure": "left edge"}]
    run.save()
    assert at_final([item])
    make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL, number=2)
    assert at_final([item]) == {}


def test_a_printing_condition_holds_profile_limit_and_source(
    cast: Cast, item: Item, book: Book
) -> None:
    revision = final(cast, item)
    checked(revision)
    draft = ConditionDraft(**{**DRAFT.__dict__, "profile": stand_in()})
    made = set_condition(by=cast.editor, book=book, draft=draft, event="event-press-1")
    again = set_condition(by=cast.editor, book=book, draft=draft, event="event-press-1")
    assert again.pk == made.pk
    assert profile_path(made.profile_sha256).is_file()
    run = checked(revision)
    assert run.condition == made
    found = next(one for one in run.findings if one["check"] == "total ink")
    assert found["source"] == "the printer's guide"
    assert found["limit"].startswith("280 %")
    kept = set_condition(by=cast.editor, book=book, draft=DRAFT)
    assert kept.profile_sha256 == made.profile_sha256


def test_a_limit_without_a_source_and_a_stranger_to_settings_are_refused(
    cast: Cast, book: Book
) -> None:
    with pytest.raises(NotUnderstood, match="where the ink limit comes from"):
        set_condition(
            by=cast.editor, book=book, draft=ConditionDraft("Offset", 300.0, " ")
        )
    with pytest.raises(NotUnderstood, match="between 100 and 400"):
        set_condition(
            by=cast.editor, book=book, draft=ConditionDraft("Offset", 900.0, "memory")
        )
    with pytest.raises(NotPermitted):
        set_condition(by=cast.illustrator, book=book, draft=DRAFT)


def test_a_book_without_a_trim_is_told_so(cast: Cast, item: Item, book: Book) -> None:
    revision = final(cast, item)
    Book.objects.filter(pk=book.pk).update(trim_width_mm=0)
    run = run_of(revision)
    assert run is not None
    assert check_revision.call(run.key) == "failed"
    told = checks_for(cast.editor, revision)
    assert "no trim size" in told.says
    assert told.over


def test_a_waiting_run_is_rung_for_again(cast: Cast, item: Item) -> None:
    final(cast, item)
    assert sweep() >= 1


def test_how_much_of_a_note_the_band_hides(item: Item) -> None:
    place = {"x": 0.46, "y": 0.3, "width": 0.09, "height": 0.18}
    assert band_share(item, place) == pytest.approx(0.4167, abs=1e-3)


def test_who_may_see_checks(cast: Cast, item: Item) -> None:
    hidden = prepared(art(), by=cast.illustrator, item=item)
    with pytest.raises(NotFound):
        checks_for(cast.stranger, hidden)
    with pytest.raises(NotPermitted):
        checks_for(cast.author, hidden)


def page(client: Client, who: Person, address: str, **post: Any) -> Any:
    client.force_login(who)
    return client.post(address, post) if post else client.get(address)


def test_the_page_tells_every_check_with_its_caution(
    client: Client, cast: Cast, item: Item
) -> None:
    revision = final(cast, item, white_px=4)
    waiting = page(client, cast.production, f"/checks/{revision.key}/")
    assert "on their way" in waiting.content.decode()
    checked(revision)
    body = page(client, cast.production, f"/checks/{revision.key}/").content.decode()
    assert "the printer's proof decides" in body.replace("&#x27;", "'")
    assert body.count('class="check sheet-paper"') == 12
    assert "check-stop" in body
    assert "<svg" in body
    assert page(client, cast.stranger, f"/checks/{revision.key}/").status_code == 404


def test_the_printing_page_takes_a_profile_and_refuses_what_is_none(
    client: Client, cast: Cast, book: Book
) -> None:
    address = f"/checks/books/{book.key}/printing/"
    sent = {"name": "Offset", "ink_limit": "300", "ink_source": "from memory",
            "event": "event-printing-1"}  # fmt: skip
    picture = SimpleUploadedFile("press.icc", b"\x89PNG" + bytes(400))
    refused = page(client, cast.editor, address, **sent, profile=picture)
    assert refused.status_code == 422
    assert "another kind of file" in refused.content.decode()
    assert condition_of(book) is None
    sound = SimpleUploadedFile("press.icc", stand_in())
    kept = page(client, cast.editor, address, **sent, profile=sound)
    assert kept.status_code == 302
    assert PrintingCondition.objects.get(book=book).profile_name
    assert page(client, cast.author, address).status_code == 200
    assert page(client, cast.author, address, **sent).status_code == 403


def test_a_broken_profile_is_refused_by_the_darkroom(cast: Cast, book: Book) -> None:
    body = bytearray(stand_in())
    body[128:600] = bytes(472)
    draft = ConditionDraft(**{**DRAFT.__dict__, "profile": bytes(body)})
    with pytest.raises(NotUnderstood, match="no colour profile that can be used"):
        set_condition(by=cast.editor, book=book, draft=draft)
    assert not profile_path(hashlib.sha256(bytes(body)).hexdigest()).exists()
