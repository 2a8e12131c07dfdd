"""A book with two hanging spreads, and a sitting on them."""

from dataclasses import dataclass
from datetime import UTC, datetime

import pytest

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.revisions.models import Revision
from board.sittings import actions
from board.sittings.actions import Plan, holding
from board.sittings.models import Sitting
from board.slips.actions import notes, stages
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests import make
from tests.conftest import Cast

BOX = [[0.34, 0.30], [0.43, 0.48]]
STARTS = datetime(2026, 3, 12, 14, 0, tzinfo=UTC)


@dataclass
class Sat:
    """A planned sitting and who may sit in."""

    book: Book
    cast: Cast
    sitting: Sitting
    first: Item
    second: Item
    up: dict[str, Revision]

    def open(self) -> Sitting:
        self.sitting = holding.open_sitting(
            by=self.cast.art_director, sitting=self.sitting, event=make.event()
        )
        return self.sitting

    def close(self) -> Sitting:
        self.sitting = holding.close_sitting(
            by=self.cast.art_director, sitting=self.sitting, event=make.event()
        )
        return self.sitting

    def turn(self, item: Item) -> None:
        holding.turn_to(
            by=self.cast.art_director, sitting=self.sitting, item_key=item.key
        )

    def decide(self, word: str, *, by: Person | None = None, remark: str = "") -> None:
        who = by or self.cast.art_director
        holding.decide(
            by=who,
            sitting=self.sitting,
            line={"item": self.first.key, "word": word, "remark": remark},
            ruled_by=who,
            event=make.event(),
        )

    def note(
        self,
        by: Person,
        words: str = "Move her left.",
        sort: str = "direction",
        on: Item | None = None,
    ) -> Note:
        revision = self.up[(on or self.first).key]
        draft = NoteDraft(sort, words, "box", BOX)
        return notes.raise_note(by=by, on=revision, draft=draft, event=make.event())

    def send_up(self, item: Item) -> Revision:
        new = make.revision(of=item, by=self.cast.illustrator)
        up = stages.send_up(by=self.cast.illustrator, revision=new, event=make.event())
        self.up[item.key] = up
        return up


@pytest.fixture
def sat(cast: Cast, book: Book) -> Sat:
    first, second = book.items.get(label="8-9"), book.items.get(label="10-11")
    found = Sat(book, cast, Sitting(), first, second, {})
    for item in (first, second):
        make.at(item, Stage.THUMBNAILS, Standing.OK)
        make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
        found.send_up(item)
    plan = Plan(STARTS, "Europe/Lisbon", 60, [first, second], cast.art_director)
    found.sitting = actions.plan_sitting(
        by=cast.editor, book=book, plan=plan, event=make.event()
    )
    return found
