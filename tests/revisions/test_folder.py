"""In the folder: who sees it, laying again, putting away, numbering."""

from typing import Any

import numpy as np
import pytest

from board.books.models import Item
from board.books.rules import Stage
from board.daybook.queries import entries_of
from board.errors import NotFound, NotPermitted, NotUnderstood, WrongMove
from board.repro import pairs, unlaid
from board.repro.comparing import Registration
from board.repro.sheets import SheetSize, carried
from board.revisions import actions, queries, tasks
from board.revisions.models import Revision
from board.revisions.queries.originals import original_of
from board.revisions.rules import Laying
from board.revisions.tasks import prepare
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import prepared, shot, spread

pytestmark = pytest.mark.django_db


@pytest.fixture
def refusing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Registration that refuses, which takes its time when it is real."""
    refused = Registration(None, 0.0, 1.0, "Too little agrees.")
    monkeypatch.setattr(tasks, "register_pictures", lambda *_, **__: refused)


def test_only_illustrators_see_the_folder(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    assert queries.revision_for(cast.illustrator, lying.key) == lying
    for person in (cast.editor, cast.art_director, cast.author, cast.publisher):
        assert not queries.folder_of(item, person).exists()
        assert not queries.seen_by(person, item).exists()
        with pytest.raises(NotPermitted):
            queries.revision_for(person, lying.key)
    with pytest.raises(NotFound):
        queries.revision_for(cast.stranger, lying.key)


def test_once_sent_up_everybody_on_the_book_sees_it(cast: Cast, item: Item) -> None:
    up = make.revision(of=item, by=cast.illustrator, number=1)
    for person in cast.by_role().values():
        assert queries.revision_for(person, up.key) == up
    with pytest.raises(NotFound):
        queries.revision_for(cast.stranger, up.key)


def test_what_stayed_in_the_folder_is_not_named_to_others(
    cast: Cast, item: Item
) -> None:
    stayed = make.revision(of=item, by=cast.illustrator)
    up = make.revision(of=item, by=cast.illustrator, number=1)
    up.laid, up.laid_on, up.error_bar_mm = "registered", stayed, 0.21
    up.save()
    said = queries.how_laid(up)
    assert stayed.filename not in said
    assert said.startswith("Laid by registration on an earlier picture")
    assert said.endswith("sure; error bar 0.2 mm on the printed page.")


def test_originals_are_for_those_who_may_download_them(cast: Cast, item: Item) -> None:
    up = make.revision(of=item, by=cast.illustrator, number=1)
    assert cast.designer.key in original_of(up, cast.designer)
    with pytest.raises(NotPermitted):
        original_of(up, cast.author)


def test_numbers_run_without_holes_by_item_and_stage(cast: Cast, item: Item) -> None:
    numbers = []
    for stage in (Stage.SKETCH, Stage.SKETCH, Stage.FINAL, Stage.SKETCH):
        lying = make.revision(of=item, by=cast.illustrator, stage=stage)
        numbers.append(actions.number_it(lying, now=make.NOW).number)
    assert numbers == [1, 2, 1, 3]
    now = queries.current(item, Stage.SKETCH)
    assert now is not None
    assert now.number == 3


def test_the_wall_finds_every_current_revision_in_one_query(
    cast: Cast, item: Item, django_assert_num_queries: Any
) -> None:
    make.revision(of=item, by=cast.illustrator, stage=Stage.SKETCH, number=1)
    final = make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL, number=1)
    make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL)
    other = item.book.items.get(label="10-11")
    sketch = make.revision(of=other, by=cast.illustrator, number=1)
    with django_assert_num_queries(1):
        found = queries.currents(item.book)
    assert found == {item.pk: final, other.pk: sketch}


def test_putting_away_can_be_undone_and_a_resend_does_nothing(
    cast: Cast, item: Item
) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    event = make.event()
    actions.put_away(lying, by=cast.illustrator, event=event)
    assert not queries.folder_of(item, cast.illustrator).exists()
    actions.put_away(lying, by=cast.illustrator, event=event)
    assert entries_of(item.book.key).count() == 1
    actions.take_out_again(lying, by=cast.illustrator, event=make.event())
    actions.put_away(lying, by=cast.illustrator, event=event)
    assert queries.folder_of(item, cast.illustrator).get() == lying


def test_what_was_sent_up_stays_as_it_was_seen(cast: Cast, item: Item) -> None:
    up = make.revision(of=item, by=cast.illustrator, number=1)
    with pytest.raises(WrongMove):
        actions.put_away(up, by=cast.illustrator, event=make.event())
    with pytest.raises(WrongMove):
        actions.lay_again(
            up, laying=Laying("bled"), by=cast.illustrator, event=make.event()
        )


def test_nobody_else_lays_or_puts_away(cast: Cast, item: Item) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    with pytest.raises(NotPermitted):
        actions.put_away(lying, by=cast.art_director, event=make.event())
    with pytest.raises(NotPermitted):
        actions.lay_again(
            lying, laying=Laying("bled"), by=cast.editor, event=make.event()
        )


@pytest.mark.parametrize(
    "laying",
    [
        Laying("pairs", [{"here": [0.1, 0.1], "there": [0.1, 0.1]}]),
        Laying("corners", [{"here": [0.1, 0.1]}] * 3),
        Laying("pairs", [{"here": [0.1, 0.1]}] * 2),
        Laying("corners", [{"here": [9.0, 0.1]}] * 4),
        Laying("glued"),
    ],
)
def test_points_that_do_not_suffice_are_told(
    cast: Cast, item: Item, laying: Laying
) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    with pytest.raises(NotUnderstood):
        actions.lay_again(lying, laying=laying, by=cast.illustrator, event=make.event())


def test_a_refused_picture_is_laid_by_hand(
    cast: Cast, item: Item, refusing: None
) -> None:
    """The marks lie where the shot is known to have put the paper."""
    prepared(spread(1), by=cast.illustrator, item=item)
    other = prepared(shot(spread(9)), by=cast.illustrator, item=item)
    assert not queries.is_laid(other)
    size, sheet = (other.width, other.height), SheetSize(508, 254, 3)
    middle = (np.array([0.5, 0.5]) * size + [5, -4]) / size
    marks = [[0.2, 0.2], [0.8, 0.25], [0.75, 0.8]]
    truth = pairs.by_pairs(
        size,
        np.array([middle, middle + np.array([0.3, 0])]),
        np.array([[0.5, 0.5], [0.9, 0.5]]),
        sheet,
    )
    there = carried(truth.matrix, np.array(marks) * size)
    points = [
        {"here": here, "there": place.tolist()}
        for here, place in zip(marks, there, strict=True)
    ]
    actions.lay_again(
        other, laying=Laying("pairs", points), by=cast.illustrator, event=make.event()
    )
    assert prepare.call(other.key) == "done"
    other.refresh_from_db()
    assert queries.is_laid(other)
    laid = carried(np.array(other.matrix), np.array([middle * size]))[0]
    assert laid == pytest.approx([0.5, 0.5], abs=1e-6)
    assert queries.how_laid(other).startswith("Laid by hand with 3 pairs of points")


def test_a_refused_picture_can_be_laid_by_its_word_instead(
    cast: Cast, item: Item, refusing: None
) -> None:
    prepared(spread(1), by=cast.illustrator, item=item)
    other = prepared(spread(9), by=cast.illustrator, item=item)
    actions.lay_again(
        other, laying=Laying("trimmed"), by=cast.illustrator, event=make.event()
    )
    prepare.call(other.key)
    other.refresh_from_db()
    assert (other.laid, other.declared) == ("trimmed", "trimmed")
    assert other.unlaid_because == ""


def test_the_one_before_is_what_a_revision_is_registered_on(
    cast: Cast, item: Item
) -> None:
    make.revision(of=item, by=cast.illustrator, stage=Stage.THUMBNAILS, number=1)
    new = make.revision(of=item, by=cast.illustrator)
    assert queries.reference_for(new) is None  # a thumbnail is too rough to lay by
    first = make.revision(of=item, by=cast.illustrator, number=1)
    last = make.revision(of=item, by=cast.illustrator, number=2)
    make.revision(of=item, by=cast.illustrator)  # in the folder: after what is up
    newest = make.revision(of=item, by=cast.illustrator)
    assert queries.reference_for(newest) == last
    assert queries.first_of_stage(newest) == first
    washes = make.revision(of=item, by=cast.illustrator, stage=Stage.WASHES)
    assert queries.reference_for(washes) == last


def test_an_unlaid_revision_is_never_what_others_are_laid_on(
    cast: Cast, item: Item
) -> None:
    row = make.revision(of=item, by=cast.illustrator)
    row.picture, row.matrix = "", None
    row.save()
    newest = make.revision(of=item, by=cast.illustrator)
    assert queries.reference_for(newest) is None
    assert Revision.objects.count() == 2


def test_a_picture_put_away_unlaid_keeps_no_developed_copy(
    cast: Cast, item: Item, django_capture_on_commit_callbacks: Any
) -> None:
    lying = make.revision(of=item, by=cast.illustrator)
    developed = unlaid.developed_path(lying.key)
    developed.parent.mkdir(parents=True, exist_ok=True)
    developed.write_bytes(b"big")
    with django_capture_on_commit_callbacks(execute=True):
        actions.put_away(lying, by=cast.illustrator, event=make.event())
    assert not developed.exists()
