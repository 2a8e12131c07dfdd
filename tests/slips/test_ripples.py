"""The ripple shown before an act is exactly what then happens."""

import pytest

from board.books.rules import Standing
from board.slips.actions import initials, reopenings, texts
from board.slips.actions.ripples import RippleDiffers, as_foreseen, foreseen
from board.slips.models import Initial
from board.tissue.models import Note
from tests import make
from tests.slips.conftest import Table

FIFTY = {"reason": "the author's wish", "code": "AA", "payer": "none, by agreement"}


def _change_text(table: Table) -> None:
    texts.make_text_version(
        by=table.cast.editor,
        book=table.book,
        words={table.item.key: "fifty years"},
        reasons=FIFTY,
        event=make.event(),
    )


def test_a_text_change_shows_what_lapses_and_touches_nothing_yet(table: Table) -> None:
    table.all_initial()
    ripple = foreseen(table.book, lambda: _change_text(table))
    assert [(one[2], one[3]) for one in ripple.moves] == [("OK", "hung")]
    assert {one[2] for one in ripple.lapses} == {"fit", "story", "words"}
    assert ripple.ledger == 1
    assert table.standing == Standing.OK
    assert Initial.objects.filter(ended_at=None).count() == 4


def test_what_happens_equals_what_was_foreseen(table: Table) -> None:
    table.all_initial()
    ripple = foreseen(table.book, lambda: _change_text(table))
    as_foreseen(table.book, ripple.digest, lambda: _change_text(table))
    assert table.standing == Standing.HUNG
    assert {one.facet for one in Initial.objects.filter(ended_at=None)} == {"art"}


def test_somebody_faster_shows_the_ripple_again_instead(table: Table) -> None:
    ripple = foreseen(table.book, lambda: _change_text(table))
    table.initial(table.cast.designer, "fit")
    with pytest.raises(RippleDiffers) as differs:
        as_foreseen(table.book, ripple.digest, lambda: _change_text(table))
    assert {one[2] for one in differs.value.ripple.lapses} == {"fit"}
    assert Initial.objects.filter(ended_at=None).count() == 1


def test_a_pulled_initial_ripples_to_the_standing(table: Table) -> None:
    table.all_initial()
    given = Initial.objects.get(facet="art", ended_at=None)
    ripple = foreseen(
        table.book,
        lambda: initials.pull(
            by=table.cast.art_director, given=given, reason="x", event=make.event()
        ),
    )
    assert [one[2:] for one in ripple.moves] == [("OK", "hung")]
    assert [one[2] for one in ripple.lapses] == ["art"]


def test_reopening_ripples_to_late_notes_and_the_ledger(table: Table) -> None:
    table.all_initial()
    late = table.note(table.cast.editor)
    ripple = foreseen(
        table.book,
        lambda: reopenings.ask_reopening(
            by=table.cast.publisher,
            item=table.item,
            stage="sketch",
            draft={"code": "EA", "reason": "x", "payer": "house"},
            event=make.event(),
        ),
    )
    assert [one[1] for one in ripple.notes] == [late.key]
    assert ripple.ledger == 1
    assert len(ripple.lapses) == 4
    late.refresh_from_db()
    assert late.state == Note.State.LATE
