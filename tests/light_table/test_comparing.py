"""Pairs on the light table: what changed, told on the sheet, once each."""

from typing import Any

import cv2
import pytest

from board.books.models import Item
from board.books.rules import Stage
from board.daybook.actions import THE_BOARD, Page, enter
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotFound, NotPermitted, NotUnderstood, WrongMove
from board.light_table.actions import after_laid, compare
from board.light_table.models import Comparison
from board.light_table.queries import (
    comparison_for,
    comparison_of,
    held_against,
    last_ok,
)
from board.light_table.tasks import compare_pair
from board.repro import store
from board.revisions.actions import number_it
from tests import make
from tests.conftest import Cast
from tests.revisions.pictures import changed, prepared, spread

pytestmark = pytest.mark.django_db


def test_a_painted_over_place_is_found_on_the_sheet(cast: Cast, item: Item) -> None:
    art = spread()
    before = prepared(art, by=cast.illustrator, item=item)
    later = changed(art, (0.62, 0.3, 0.08, 0.18))
    after = prepared(later, by=cast.illustrator, item=item)
    row = compare(before, after, by=cast.illustrator)
    assert compare_pair.call(row.key) == "done"
    told = comparison_for(cast.illustrator, row.key)
    assert (told.state, told.step, told.over) == ("done", "ready", True)
    largest = told.changes[0]
    # Known truth: the place in fractions of the bled sheet, taken to the trim's.
    x = -3 / 508 + 0.62 * (514 / 508)
    y = -3 / 254 + 0.3 * (260 / 254)
    assert largest["x"] == pytest.approx(x, abs=0.02)
    assert largest["y"] == pytest.approx(y, abs=0.03)
    assert largest["mean"] > 5
    assert [c["area"] for c in told.changes] == sorted(
        (c["area"] for c in told.changes), reverse=True
    )
    assert cast.illustrator.key in told.picture
    assert "changed" in told.says
    assert comparison_of(before, after) == Comparison.objects.get()


def test_a_pair_is_compared_once(cast: Cast, item: Item) -> None:
    before = make.revision(of=item, by=cast.illustrator, number=1)
    after = make.revision(of=item, by=cast.illustrator, number=2)
    first = compare(before, after, by=cast.editor)
    assert compare(before, after, by=cast.author) == first


def test_laying_anew_makes_a_new_comparison_and_drops_the_old(
    cast: Cast, item: Item
) -> None:
    before = make.revision(of=item, by=cast.illustrator, number=1)
    after = make.revision(of=item, by=cast.illustrator)
    first = compare(before, after, by=cast.illustrator)
    after.picture = "laid-anew-another-way"
    after.save()
    second = compare(before, after, by=cast.illustrator)
    assert second.pk != first.pk
    assert Comparison.objects.get() == second


def test_a_revision_in_the_folder_is_compared_by_illustrators_only(
    cast: Cast, item: Item
) -> None:
    before = make.revision(of=item, by=cast.illustrator, number=1)
    after = make.revision(of=item, by=cast.illustrator)
    row = compare(before, after, by=cast.illustrator)
    with pytest.raises(NotPermitted):
        compare(before, after, by=cast.editor)
    with pytest.raises(NotPermitted):
        comparison_for(cast.editor, row.key)
    with pytest.raises(NotFound):
        comparison_for(cast.stranger, row.key)


def test_what_cannot_lie_over_one_another_is_told(cast: Cast, item: Item) -> None:
    one = make.revision(of=item, by=cast.illustrator, number=1)
    elsewhere = make.revision(
        of=item.book.items.get(label="10-11"), by=cast.illustrator, number=1
    )
    unlaid = make.revision(of=item, by=cast.illustrator)
    unlaid.picture = ""
    unlaid.save()
    for other, refusal in (
        (one, NotUnderstood),
        (elsewhere, NotUnderstood),
        (unlaid, WrongMove),
    ):
        with pytest.raises(refusal):
            compare(one, other, by=cast.illustrator)


def test_between_drawn_and_painted_only_the_plan_counts(cast: Cast, item: Item) -> None:
    drawn = make.revision(of=item, by=cast.illustrator, number=1)
    painted = make.revision(of=item, by=cast.illustrator, stage=Stage.WASHES, number=1)
    row = compare(drawn, painted, by=cast.editor)
    assert compare_pair.call(row.key) == "done"
    told = comparison_for(cast.editor, row.key)
    assert (told.colour, told.changes, told.picture) == (False, [], "")
    assert "colours are not compared" in told.says


def test_a_picture_that_is_gone_fails_with_a_sentence(cast: Cast, item: Item) -> None:
    before = make.revision(of=item, by=cast.illustrator, number=1)
    after = make.revision(of=item, by=cast.illustrator, number=2)
    row = compare(before, after, by=cast.editor)
    assert compare_pair.call(row.key) == "failed"
    assert "not on the disk" in comparison_for(cast.editor, row.key).says
    again = compare(before, after, by=cast.editor)
    assert again.work == Comparison.State.WAITING


def test_a_revision_just_laid_is_compared_with_the_current_one(
    cast: Cast, item: Item, django_capture_on_commit_callbacks: Any
) -> None:
    art = spread()
    first = prepared(art, by=cast.illustrator, item=item)
    number_it(first, now=make.NOW)
    with django_capture_on_commit_callbacks(execute=True):
        second = prepared(
            changed(art, (0.3, 0.3, 0.1, 0.2)), by=cast.illustrator, item=item
        )
    row = Comparison.objects.get()
    assert (row.before, row.after) == (first, second)
    after_laid(Entry.objects.filter(kind="laid").latest("number"))
    assert Comparison.objects.count() == 1


def entered(kind: Happened, item: Item, **more: Any) -> None:
    """What the daybook holds of a stage's history."""
    page = Page(item.book.key, item_key=item.key, stage=Stage.SKETCH, **more)
    enter(kind, page, by=THE_BOARD, now=make.NOW)


def test_a_revision_is_compared_with_the_stages_last_ok_too(
    cast: Cast, item: Item
) -> None:
    one, two, three, four = (
        make.revision(of=item, by=cast.illustrator, number=number)
        for number in (1, 2, 3, 4)
    )
    for number, to in ((1, "hung"), (2, "OK"), (3, "returned"), (4, "hung")):
        entered(Happened.SENT_UP, item, details={"revision": number})
        entered(Happened.STANDING_MOVED, item, details={"from": "x", "to": to})
    assert [last_ok(each) for each in (one, two, three, four)] == [None, None, two, two]
    assert held_against(four) == three
    entered(Happened.SENT_UP, item, about_key=four.key, details={"revision": 4})
    after_laid(Entry.objects.latest("number"))
    pairs = Comparison.objects.values_list("before", "after")
    assert set(pairs) == {(three.pk, four.pk), (two.pk, four.pk)}


def test_what_is_up_is_never_held_against_what_lies_in_the_folder(
    cast: Cast, item: Item
) -> None:
    hidden = make.revision(of=item, by=cast.illustrator)
    up = make.revision(of=item, by=cast.illustrator, number=1)
    assert held_against(up) is None
    assert held_against(hidden) == up


def test_the_drawing_is_clear_where_nothing_changed(cast: Cast, item: Item) -> None:
    before = prepared(spread(), by=cast.illustrator, item=item)
    after = make.revision(of=item, by=cast.illustrator)
    after.picture = before.picture
    after.save()
    row = compare(before, after, by=cast.illustrator)
    compare_pair.call(row.key)
    row.refresh_from_db()
    path = store.picture_folder(row.picture) / "change.png"
    drawing = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    assert drawing is not None
    assert drawing.shape[2] == 4
    assert drawing[..., 3].max() == 0
    assert row.changes == []
