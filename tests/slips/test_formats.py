"""Another trim, bleed or extent (T18): what it takes off, and what stays on its place."""

import pytest

from board.books.actions.formats import FormatDraft
from board.books.models import Book
from board.books.rules import Ends, Kind, Standing, items_of
from board.books.rules.refitting import Refit, refitted
from board.errors import NotPermitted, NotUnderstood, Stale, WrongMove
from board.slips.actions.formats import change_format
from board.slips.actions.ripples import as_foreseen, foreseen
from board.slips.models import FormatChange, Initial
from board.slips.queries.ledger import ledger_of
from tests import make
from tests.slips.conftest import Table

WHY = {"reason": "The printer's sheet.", "code": "PE", "payer": "the printer"}


def _change(table: Table, *, event: str = "", version: int = 0, **new: float) -> object:
    book = Book.objects.get(pk=table.book.pk)
    was = FormatDraft.of(book)
    draft = FormatDraft(
        new.get("width", was.trim_width_mm),
        new.get("height", was.trim_height_mm),
        new.get("bleed", was.bleed_mm),
        int(new.get("extent", was.extent)),
    )
    return change_format(
        by=table.cast.production,
        book=book,
        draft=draft,
        reasons=WHY,
        version=version or book.version,
        event=event or make.event(),
    )


def _live(table: Table) -> set[str]:
    return {one.facet for one in Initial.objects.filter(ended_at=None)}


def test_another_trim_takes_off_art_story_and_fit_and_leaves_the_words(
    table: Table,
) -> None:
    table.all_initial()
    _change(table, width=250)
    assert _live(table) == {"words"}
    assert table.standing == Standing.HUNG


def test_another_format_is_one_line_of_the_ledger_with_code_and_payer(
    table: Table,
) -> None:
    _change(table, bleed=5)
    (line,) = ledger_of(table.book)
    assert (line.code, line.payer) == ("PE", "the printer")
    assert line.what == "bleed 3 to 5"


def test_what_a_format_touches_is_foreseen_exactly(table: Table) -> None:
    table.all_initial()
    ripple = foreseen(table.book, lambda: _change(table, width=250))
    assert {one[2] for one in ripple.lapses} == {"art", "story", "fit"}
    assert not FormatChange.objects.exists()
    as_foreseen(table.book, ripple.digest, lambda: _change(table, width=250))
    assert FormatChange.objects.count() == 1


def test_a_longer_book_moves_only_the_pages_behind_the_new_ones(table: Table) -> None:
    table.all_initial()
    _change(table, extent=36)
    assert table.standing == Standing.OK  # 8-9 stays 8-9
    book = Book.objects.get(pk=table.book.pk)
    items = book.items.filter(set_aside=False).order_by("position")
    plans = items_of(36, Ends.SELF)
    told = [(item.label, item.first_page, item.last_page) for item in items]
    assert told == [(plan.label, plan.first, plan.last) for plan in plans]
    new = book.items.get(label="30-31", kind=Kind.SPREAD)
    assert {row.standing for row in new.stages.all()} == {Standing.SHUT}


def test_an_item_that_falls_out_is_set_aside_and_comes_back(table: Table) -> None:
    last = table.book.items.get(label="28-29")
    _change(table, extent=24)
    last.refresh_from_db()
    assert last.set_aside
    _change(table, extent=32)
    last.refresh_from_db()
    assert (last.set_aside, last.label) == (False, "28-29")
    assert table.book.items.count() == len(items_of(32, Ends.SELF))


def test_a_mark_stays_on_its_place_in_the_picture(table: Table) -> None:
    note = table.note(table.cast.editor)
    x_mm = (note.points[0][0] - 0.5) * 508
    _change(table, width=250)
    note.refresh_from_db()
    assert (note.points[0][0] - 0.5) * 500 == pytest.approx(x_mm, abs=0.01)


def test_a_mark_that_falls_off_the_sheet_is_kept_with_its_place_unknown(
    table: Table,
) -> None:
    note = table.note(table.cast.editor)
    note.points = [[0.001, 0.1], [0.01, 0.2]]
    note.save()
    _change(table, width=200, bleed=0)
    note.refresh_from_db()
    assert note.place_unknown
    assert all(0 <= x <= 1 for x, _ in note.points)


def test_a_picture_is_laid_anew_on_the_other_sheet(table: Table) -> None:
    before = table.revision.matrix
    _change(table, width=250)
    table.revision.refresh_from_db()
    assert table.revision.picture == ""
    assert table.revision.work == "waiting"
    fit = Refit.between((508, 254), (500, 254))
    assert before is not None
    assert table.revision.matrix == fit.matrix(before)


def test_every_unmet_guard_is_told(table: Table) -> None:
    make.at(table.item, table.row.stage, Standing.HANDED_OVER)  # type: ignore[arg-type]  # a word
    with pytest.raises(WrongMove) as stopped:
        _change(table, width=10)
    assert len(stopped.value.reasons) == 2


def test_an_extent_that_cannot_be_folded_is_refused(table: Table) -> None:
    with pytest.raises(NotUnderstood):
        _change(table, extent=30)


def test_only_production_changes_a_format_and_not_on_an_older_one(table: Table) -> None:
    with pytest.raises(NotPermitted):
        change_format(
            by=table.cast.editor,
            book=table.book,
            draft=FormatDraft.of(table.book),
            reasons=WHY,
            version=1,
            event=make.event(),
        )
    _change(table, bleed=5)
    with pytest.raises(Stale) as stale:
        _change(table, bleed=4, version=1)
    assert stale.value.now["bleed"] == "5"


def test_a_format_sent_twice_is_changed_once(table: Table) -> None:
    _change(table, bleed=5, event="sent-twice-1")
    _change(table, bleed=5, event="sent-twice-1")
    assert FormatChange.objects.count() == 1


def test_places_are_shared_kind_by_kind() -> None:
    items = [("front", Kind.ENDS), ("one", Kind.SPREAD), ("back", Kind.ENDS)]
    plans = items_of(12, Ends.SELF)
    placed = {one.name: one.plan for one in refitted(items, plans) if one.name}
    front, back = placed["front"], placed["back"]
    assert front is not None
    assert back is not None
    assert (front.label, back.label) == ("2-3", "10-11")
