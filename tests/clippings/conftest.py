"""A spread hung at final, and sources on it."""

from dataclasses import dataclass

import pytest

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.clippings.actions import UseDraft
from board.clippings.actions.records import enter_source
from board.clippings.models import Clipping, Use
from board.revisions.models import Revision
from board.slips.actions import clearances, initials, stages
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from tests import make
from tests.conftest import Cast

BOX = [[0.1, 0.1], [0.2, 0.2]]
FACETS = {
    "designer": "fit",
    "editor": "story",
    "production": "press",
    "art_director": "art",
    "author": "words",
    "rights": "clearance",
}


@dataclass
class Desk:
    """A spread at final and short ways to act on it and its sources."""

    book: Book
    item: Item
    cast: Cast
    revision: Revision

    @property
    def standing(self) -> str:
        return self.item.stages.get(stage=Stage.FINAL).standing

    def enter(
        self, code: str = "C05", by: Person | None = None, **more: str
    ) -> Clipping:
        return enter_source(
            by=by or self.cast.rights,
            book=self.book,
            draft={"code": code, "what": "A school map.", **more},
            event=make.event(),
        )

    def judge(
        self,
        source: Clipping,
        clearance: str,
        by: Person | None = None,
        because: str = "Own work.",
    ) -> None:
        clearances.change_clearance(
            by=by or self.cast.rights,
            clipping=source,
            clearance=clearance,
            because=because,
            event=make.event(),
        )

    def mark(self, source: Clipping, first: Revision | None = None) -> Use:
        return clearances.mark_use(
            by=self.cast.illustrator,
            clipping=source,
            item=self.item,
            draft=UseDraft("box", BOX, first),
            event=make.event(),
        )

    def initial(self, who: str) -> Initial:
        person = getattr(self.cast, who)
        return initials.initial(
            by=person,
            item=self.item,
            facet=FACETS[who],
            receipt=receipt_for(person, self.item, self.revision),
            event=make.event(),
        )

    def all_but_rights(self) -> None:
        for who in FACETS:
            if who != "rights":
                self.initial(who)

    def upload(self) -> Revision:
        return make.revision(of=self.item, by=self.cast.illustrator, stage=Stage.FINAL)

    def send_up(self, new: Revision | None = None) -> Revision:
        self.revision = stages.send_up(
            by=self.cast.illustrator,
            revision=new or self.upload(),
            event=make.event(),
        )
        return self.revision

    def live(self) -> set[str]:
        rows = Initial.objects.filter(slip__item=self.item, ended_at=None)
        return set(rows.values_list("facet", flat=True))


@pytest.fixture
def desk(book: Book, item: Item, cast: Cast) -> Desk:
    """Spread 8-9 with a first final sent up."""
    for stage in (Stage.THUMBNAILS, Stage.SKETCH, Stage.WASHES):
        make.at(item, stage, Standing.OK)
    make.at(item, Stage.FINAL, Standing.AT_THE_TABLE)
    first = make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL)
    sent = stages.send_up(by=cast.illustrator, revision=first, event=make.event())
    return Desk(book, item, cast, sent)
