"""The demo book's sources: cleared by the calendar, and in the way where told."""

import json
from pathlib import Path

import pytest

from board.books.models import Item
from board.clippings.queries import sources_of, told_of_book, uncleared
from board.continuity.queries import unexplained
from board.daybook.queries import broken_at
from board.management.demo import sources
from board.management.demo.story import Facts, Story
from board.slips.actions import stages
from board.slips.queries.sentences import why_not_ok_told
from board.slips.queries.slates import stage_of
from tests import make
from tests.slips.test_calendar import Unpainted

FIXTURES = Path(__file__).parents[2] / "fixtures"
STANDINGS = json.loads((FIXTURES / "standings.json").read_text("utf-8"))


class WithSources(Unpainted):
    """The replay without pictures, but with the papers that lie on them."""

    def _send_up(self, story: Story, event: Facts) -> None:
        by = story.people[event["by"]]
        words = {"th": "thumbnails", "sk": "sketch", "wa": "washes", "fa": "final"}
        for item in story.items_of(event):
            new = make.revision(of=item, by=by, stage=words[event["rev"][:2]])  # type: ignore[arg-type]  # a Stage's own word
            sources.turn(story, new, event["rev"])
            stages.send_up(by=by, revision=new, event=story.event())


def test_the_calendar_of_clearances_holds_to_day_121(db: None) -> None:
    replayed = WithSources(121, lambda _day: None)
    replayed.run()
    book = replayed.story.the_book()
    reached = {one.code: one.clearance for one in sources_of(book)}
    assert reached == {
        "C01": "not needed", "C02": "not needed", "C03": "granted", "C04": "not needed",
        "C05": "asked", "C06": "granted", "C07": "refused", "C08": "not needed",
        "C09": "unknown", "C10": "granted", "C11": "not needed",
    }  # fmt: skip
    items = {item.label: item for item in Item.objects.filter(book=book)}
    found = uncleared(items.values())
    waiting = {
        label: {one.code for one in found.get(item.pk, ())}
        for label, item in items.items()
    }
    assert {label: codes for label, codes in waiting.items() if codes} == {
        "12-13": {"C05", "C09"},
        "14-15": {"C07"},
    }
    for label, days in STANDINGS.items():
        row = stage_of(Item.objects.get(pk=items[label].pk)) if label in items else None
        if row and "121" in days:
            assert (label, row.standing) == (label, days["121"]["standing"])
    why = why_not_ok_told(items["12-13"], replayed.story.people["HN"])
    assert sum(words.startswith("Source C0") for words in why) == 2
    assert unexplained(book) == []
    told = {one.source.code: one for one in told_of_book(book)}
    assert {code for code, one in told.items() if one.pieces} == {
        "C02", "C03", "C04", "C05", "C06", "C07", "C08", "C09", "C10",
    }  # fmt: skip
    # The record says 3 % of the spread; the torn piece as painted takes 2.5 %.
    (hedge,) = told["C09"].areas
    assert hedge.percent == pytest.approx(2.5, abs=0.2)
    assert {one.item.label for one in told["C08"].pieces} == {"8-9", "16-17", "28-29"}
    places = {one.name: one.places.count() for one in book.things.all()}
    assert (places["Otti's coat"], places["Granna's shawl"]) == (9, 2)
    assert broken_at(book.key) is None
