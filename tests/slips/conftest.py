"""A spread hung at sketch, and short ways to act on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.rules import Stage, Standing
from board.revisions.models import Revision
from board.slips.actions import initials, notes, sheets, stages
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import stage_of
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests import make
from tests.conftest import Cast

BOX = [[0.34, 0.30], [0.43, 0.48]]


@dataclass
class Table:
    """A spread and the people round it."""

    book: Book
    item: Item
    cast: Cast
    revision: Revision

    @property
    def row(self) -> ItemStage:
        fresh = Item.objects.get(pk=self.item.pk)
        row = stage_of(fresh)
        assert row is not None
        return row

    @property
    def standing(self) -> str:
        return self.row.standing

    def note(
        self, by: Person, sort: str = "direction", words: str = "Move her left."
    ) -> Note:
        draft = NoteDraft(sort, words, "box", BOX)
        return notes.raise_note(
            by=by, on=self.revision, draft=draft, event=make.event()
        )

    def initial(
        self, by: Person, facet: str, *listed: Note, checks: Sequence[str] = ()
    ) -> Initial:
        return initials.initial(
            by=by,
            item=self.item,
            facet=facet,
            receipt=receipt_for(by, self.item, self.revision),
            event=make.event(),
            listed=[note.key for note in listed],
            checks=checks,
        )

    def issue(self) -> None:
        sheets.issue_sheet(
            by=self.cast.art_director, item=self.item, event=make.event()
        )

    def answer(self, note: Note, words: str = "", answer: str = "done") -> None:
        notes.answer(
            by=self.cast.illustrator,
            note=note,
            answer=answer,
            words=words,
            event=make.event(),
        )

    def next_revision(self) -> Revision:
        new = make.revision(of=self.item, by=self.cast.illustrator)
        self.revision = stages.send_up(
            by=self.cast.illustrator, revision=new, event=make.event()
        )
        return self.revision

    def all_initial(self) -> None:
        self.initial(self.cast.designer, "fit")
        self.initial(self.cast.editor, "story")
        self.initial(self.cast.art_director, "art")
        self.initial(self.cast.author, "words")


@pytest.fixture
def table(book: Book, item: Item, cast: Cast) -> Table:
    """Spread 8-9 with a first sketch sent up."""
    make.at(item, Stage.THUMBNAILS, Standing.OK)
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    first = make.revision(of=item, by=cast.illustrator)
    sent = stages.send_up(by=cast.illustrator, revision=first, event=make.event())
    return Table(book, item, cast, sent)
