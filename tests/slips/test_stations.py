"""A book's own stations: settable, shown before with what they touch, and settled."""

from dataclasses import replace
from datetime import timedelta

import pytest

from board.books.actions.formats import StationsDraft
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.daybook.actions import replayed_at, this_moment
from board.errors import NotUnderstood, Stale
from board.permits import Facet
from board.slips.actions.ripples import foreseen
from board.slips.actions.stations import set_stations
from board.slips.models import Initial
from board.slips.queries.lines import SlipLine, slip_lines
from board.slips.rules.stations import Asked, lines_at, why_not_stations
from tests import make
from tests.slips.conftest import Table

MUST, TOLD, NOT = Asked.MUST.value, Asked.TOLD.value, Asked.NOT.value


def _set(table: Table, *, version: int = 0, **new: object) -> None:
    book = Book.objects.get(pk=table.book.pk)
    draft = replace(StationsDraft.of(book), **new)  # type: ignore[arg-type]  # as told
    set_stations(
        by=table.cast.editor,
        book=book,
        draft=draft,
        version=version or book.version,
        event=make.event(),
    )


def _words(table: Table) -> SlipLine:
    lines = slip_lines(Item.objects.get(pk=table.item.pk), table.cast.editor)
    return next(line for line in lines if line.facet == "words")


def test_a_line_that_becomes_a_must_hangs_the_item_again(table: Table) -> None:
    table.all_initial()
    assert table.standing == Standing.OK
    own = {"press": [NOT, MUST, NOT, MUST]}
    ripple = foreseen(table.book, lambda: _set(table, stations=own))
    assert [one[2:] for one in ripple.moves] == [("OK", "hung")]
    assert [one[2] for one in ripple.asked] == ["press"]
    _set(table, stations=own)
    assert table.standing == Standing.HUNG
    assert Initial.objects.filter(ended_at=None).count() == 4


def test_a_line_that_is_no_must_any_more_lets_the_item_come_ok(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art")
    _set(table, author_approves=False)
    assert table.standing == Standing.OK


def test_an_author_who_is_consulted_is_told_until_when_and_then_no_reply(
    table: Table,
) -> None:
    _set(table, author_approves=False)
    for who, facet in (
        (table.cast.designer, "fit"),
        (table.cast.editor, "story"),
    ):
        table.initial(who, facet)
    table.note(table.cast.art_director)  # keeps it hung
    assert _words(table).state == "is consulted"
    with replayed_at(this_moment() + timedelta(days=90)):
        assert not Initial.objects.filter(facet="words").exists()


def test_an_author_who_is_consulted_may_still_initial(table: Table) -> None:
    _set(table, author_approves=False)
    for who, facet in (
        (table.cast.designer, "fit"),
        (table.cast.editor, "story"),
    ):
        table.initial(who, facet)
    with pytest.raises(Exception, match="not initialled art"):
        table.initial(table.cast.author, "words")


def test_the_art_line_stays_a_must_and_clearance_at_final() -> None:
    told = why_not_stations(
        {"art": [MUST, TOLD, MUST, MUST], "clearance": [NOT, NOT, NOT, TOLD]},
        studio=False,
    )
    assert len(told) == 2
    assert why_not_stations({"art": ["perhaps"]}, studio=False)


def test_stations_decided_on_an_older_state_are_not_set(table: Table) -> None:
    _set(table, notes_at_once=True)
    with pytest.raises(Stale) as stale:
        _set(table, author_approves=False, version=1)
    assert stale.value.now["notes_at_once"] == "True"
    with pytest.raises(NotUnderstood):
        _set(table, stations={"art": ["perhaps"]})


def test_a_small_studio_has_three_stations_and_one_act_writes_each_facet() -> None:
    sketch = lines_at(Stage.SKETCH, studio=True)
    assert {line.station.value for line in sketch} == {
        "art director",
        "production",
        "author",
    }
    must = [line.facet for line in sketch if line.asked is Asked.MUST]
    assert must == [Facet.ART, Facet.WORDS, Facet.STORY, Facet.FIT]


def test_switching_to_a_small_studio_keeps_initials_and_asks_its_own(
    table: Table,
) -> None:
    table.initial(table.cast.designer, "fit")
    _set(table, preset=Book.Preset.STUDIO)
    assert Initial.objects.filter(ended_at=None).count() == 1
    assert table.standing == Standing.HUNG


def test_notes_at_once_says_before_how_many_the_artist_comes_to_read(
    table: Table,
) -> None:
    table.note(table.cast.editor)
    table.note(table.cast.author)
    ripple = foreseen(table.book, lambda: _set(table, notes_at_once=True))
    assert len(ripple.seen) == 1
