"""A spread hung at sketch, and browsers without scripts for its people."""

from dataclasses import dataclass

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.permits import Role
from board.revisions.models import Revision
from board.slips.actions import notes, stages
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests import make
from tests.conftest import Cast

BOX = [[0.34, 0.30], [0.43, 0.48]]


@dataclass
class Hung:
    """An item with one sketch up, and who looks at it."""

    book: Book
    item: Item
    cast: Cast
    revision: Revision

    def note(
        self,
        by: Person,
        sort: str = "direction",
        words: str = "Move her left.",
        points: list[list[float]] | None = None,
    ) -> Note:
        draft = NoteDraft(sort, words, "box", points or BOX)
        event = make.event()
        return notes.raise_note(by=by, on=self.revision, draft=draft, event=event)

    def next_up(self) -> Revision:
        new = make.revision(of=self.item, by=self.cast.illustrator)
        event = make.event()
        return stages.send_up(by=self.cast.illustrator, revision=new, event=event)

    def room(self, name: str = "item", *more: str | int) -> str:
        return reverse(f"viewing:{name}", args=[self.item.key, *more])


@pytest.fixture
def hung(book: Book, cast: Cast, item: Item) -> Hung:
    make.at(item, Stage.THUMBNAILS, Standing.OK)
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    revision = make.revision(of=item, by=cast.illustrator)
    event = make.event()
    up = stages.send_up(by=cast.illustrator, revision=revision, event=event)
    return Hung(book, item, cast, up)


def looks(who: Person) -> Client:
    """A browser in which somebody is signed in."""
    client = Client()
    client.force_login(who)
    return client


def everybody(cast: Cast) -> dict[Role, Person]:
    return cast.by_role()
