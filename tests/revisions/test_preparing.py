"""From the last byte to the laid picture."""

import json

import numpy as np
import pytest

from board.books.models import Item
from board.books.rules import Stage
from board.daybook.queries import entries_of
from board.repro import store, unlaid
from board.repro.developing import develop
from board.repro.sheets import carried
from board.revisions.actions import number_it
from board.revisions.models import Revision
from board.revisions.queries import how_laid, is_laid, picture_of, progress_of
from board.revisions.tasks import prepare
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import changed, png, prepared, sent, shot, spread

pytestmark = pytest.mark.django_db


def test_the_first_revision_is_laid_by_its_word(cast: Cast, item: Item) -> None:
    revision = prepared(spread(), by=cast.illustrator, item=item)
    assert is_laid(revision)
    assert revision.laid == "bled"
    assert "not measured" in how_laid(revision)
    x, y = carried(np.array(revision.matrix), np.array([[0.0, 0.0]]))[0]
    assert x == pytest.approx(-3 / 508)
    assert y == pytest.approx(-3 / 254)


def test_what_a_lost_machine_left_of_a_developed_picture_is_developed_again(
    cast: Cast, item: Item
) -> None:
    upload = sent(png(spread()), "art.png", by=cast.illustrator, item=item)
    revision = Revision.objects.get(upload=upload)
    original, half = (
        store.original_path(revision.sha256),
        unlaid.developed_path(revision.key),
    )
    half.parent.mkdir(parents=True, exist_ok=True)
    develop(original, half, filename="a.png", max_bytes=10**9, max_pixels=10**8)
    half.write_bytes(half.read_bytes()[:-100_000])
    prepare.call(revision.key)
    revision.refresh_from_db()
    assert is_laid(revision)
    assert not half.exists()


def test_a_later_one_is_registered_with_an_error_bar(cast: Cast, item: Item) -> None:
    art = spread()
    first = prepared(art, by=cast.illustrator, item=item)
    number_it(first, now=make.NOW)
    later = prepared(shot(art), by=cast.illustrator, item=item)
    assert later.laid == "registered"
    assert later.laid_on == first
    assert later.error_bar_mm is not None
    assert later.error_bar_mm < 1.0
    assert how_laid(later).startswith(
        "Laid by registration on sketch, revision 1; sure; error bar"
    )
    # Known truth: the middle of the paper lies where the shot put it.
    shown = np.array([[round(771 * 1.12) / 2 + 5, round(390 * 1.16) / 2 - 4]])
    x, y = carried(np.array(later.matrix), shown)[0]
    assert abs(x - 0.5) * 508 < 0.6
    assert abs(y - 0.5) * 254 < 0.6


def test_a_picture_of_something_else_is_flagged_and_not_laid(
    cast: Cast, item: Item
) -> None:
    prepared(spread(1), by=cast.illustrator, item=item)
    other = prepared(spread(77), by=cast.illustrator, item=item)
    assert not is_laid(other)
    assert other.work == Revision.State.DONE
    assert other.matrix is None
    assert "same spread" in other.unlaid_because
    assert how_laid(other).startswith("In the folder, not laid.")


def test_a_word_that_cannot_be_true_is_not_believed(cast: Cast, item: Item) -> None:
    square = spread(size=(600, 600))
    revision = prepared(square, by=cast.illustrator, item=item)
    assert not is_laid(revision)
    assert "four corners" in revision.unlaid_because


def test_the_first_sketch_is_laid_by_its_word_not_by_a_thumbnail(
    cast: Cast, item: Item
) -> None:
    prepared(spread(5), by=cast.illustrator, item=item, stage=Stage.THUMBNAILS)
    sketch = prepared(spread(6), by=cast.illustrator, item=item)
    assert (sketch.laid, sketch.laid_on) == ("bled", None)
    assert "not measured" in how_laid(sketch)


def test_a_changed_picture_still_finds_its_place(cast: Cast, item: Item) -> None:
    art = spread()
    prepared(art, by=cast.illustrator, item=item)
    later = changed(art, (0.4, 0.3, 0.1, 0.2))
    assert prepared(later, by=cast.illustrator, item=item).laid == "registered"


def test_steps_are_told_and_the_record_has_them(cast: Cast, item: Item) -> None:
    upload = sent(png(spread()), "8-9.png", by=cast.illustrator, item=item)
    revision = Revision.objects.get(upload=upload)
    before = progress_of(revision)
    assert (before.step, before.over) == ("received", False)
    assert before.says.startswith("Received.")
    prepare.call(revision.key)
    revision.refresh_from_db()
    after = progress_of(revision)
    assert (after.step, after.share, after.over) == ("ready", 1.0, True)
    kinds = [entry.kind for entry in entries_of(item.book.key)]
    assert kinds == ["uploaded", "laid"]


def test_preparing_twice_does_nothing_more(cast: Cast, item: Item) -> None:
    revision = prepared(spread(), by=cast.illustrator, item=item)
    assert prepare.call(revision.key) == "nothing to do"
    assert entries_of(item.book.key).filter(kind="laid").count() == 1


def test_a_damaged_file_fails_with_what_to_do(cast: Cast, item: Item) -> None:
    upload = sent(png(spread())[:4000], "8-9.png", by=cast.illustrator, item=item)
    revision = Revision.objects.get(upload=upload)
    assert prepare.call(revision.key) == "failed"
    revision.refresh_from_db()
    assert revision.work == Revision.State.FAILED
    assert "save a new copy" in revision.failure.lower()
    assert not store.picture_folder(revision.key).exists()


def test_the_laid_picture_comes_with_addresses_of_ones_own(
    cast: Cast, item: Item
) -> None:
    revision = prepared(spread(), by=cast.illustrator, item=item)
    mine = picture_of(revision, cast.illustrator)
    assert mine is not None
    assert cast.illustrator.key in mine.tiles
    assert mine.tiles.endswith("/")
    assert mine.rect.x == pytest.approx(-8 / 508)
    assert json.dumps(mine.as_dict())
    theirs = picture_of(revision, cast.editor)
    assert theirs is not None
    assert theirs.tiles != mine.tiles


def test_what_only_prepares_is_left_behind_by_nothing(cast: Cast, item: Item) -> None:
    revision = prepared(spread(), by=cast.illustrator, item=item)
    assert not (store.data_folder() / "developed" / f"{revision.key}.v").exists()
    assert store.original_path(revision.sha256).exists()
