"""The demo book's loops around sources and followed things, drawn with the finals."""

import pytest

from board.books.rules import Stage
from board.clippings.queries import told_of_book
from board.management.demo import sources
from tests import make
from tests.slips.test_calendar import Unpainted


def test_the_first_finals_bring_loops_for_sources_and_things(db: None) -> None:
    replayed = Unpainted(0, lambda _day: None)
    replayed.run()
    story, book = replayed.story, replayed.story.the_book()
    for label in ("12-13", "28-29"):
        new = make.revision(
            of=story.items[label], by=story.people["TOV"], stage=Stage.FINAL
        )
        sources.turn(story, new, "fa1")
        type(new).objects.filter(pk=new.pk).update(number=1)
    told = {one.source.code: one for one in told_of_book(book)}
    # The record says 3 % of the spread; the torn piece as painted takes 2.5 %.
    (hedge,) = told["C09"].areas
    assert hedge.percent == pytest.approx(2.5, abs=0.2)
    assert [piece.item.label for piece in told["C08"].pieces] == ["28-29"]
    places = {one.name: one.places.count() for one in book.things.all()}
    assert (places["Otti's coat"], places["Granna's shawl"]) == (2, 1)
