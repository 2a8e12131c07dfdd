"""Random acts of a sitting's people, by the actions pages call."""

import itertools
import random
from typing import Any

from accounts.models import Person
from board.books.models import Book
from board.errors import BoardError
from board.revisions.models import Revision
from board.sittings.actions import holding
from board.sittings.models import Sitting
from board.sittings.rules import Word
from board.slips.actions import notes, rulings, sheets
from board.slips.queries.events import events_for
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests.sittings.served import Served

NOTE_WRITERS = ("author", "author", "designer", "art director")


_count = itertools.count(1)


def event() -> str:
    """An id that the process which furnished the board did not give."""
    return f"soak-{next(_count):08d}"


class Acts:
    """Everybody does anything that the table of permits lets them."""

    def __init__(self, board: Served, chance: random.Random) -> None:
        self.chance = chance
        told = board.told
        self.items: list[str] = told["items"]
        self.people = {
            one["role"]: Person.objects.get(key=one["key"]) for one in told["people"]
        }
        self.head, self.editor = self.people["art director"], self.people["editor"]
        self.sitting = Sitting.objects.get(key=told["sitting"])
        self.up = list(
            Revision.objects.filter(key__in=told["revisions"]).select_related(
                "item__book"
            )
        )
        often = [self.note, self.note, self.note, self.editors_word, self.decide]
        self.ways = [*often, self.decide, self.turn, self.issue, self.end]

    def act(self) -> int:
        """Do something; 0 when the board would not have it."""
        try:
            self.chance.choice(self.ways)()
        except BoardError:
            return 0
        return 1

    def note(self) -> Any:  # whatever the action gives
        sort = self.chance.choice(["query", "direction", "comment"])
        draft = NoteDraft(sort, f"Note {self.chance.random()}", "", [])
        who = self.people[self.chance.choice(NOTE_WRITERS)]
        on = self.chance.choice(self.up)
        return notes.raise_note(by=who, on=on, draft=draft, event=event())

    def some(self, **where: Any) -> Note | None:
        found = list(Note.objects.filter(**where).select_related("item__book"))
        return self.chance.choice(found) if found else None

    def editors_word(self) -> Any:
        waits = self.some(state="with editor")
        if waits is None:
            return self.note()
        who, mark = self.editor, event()
        if self.chance.random() < 0.6:
            return notes.pass_on(by=who, note=waits, words="", event=mark)
        return notes.decline(by=who, note=waits, reason="No.", event=mark)

    def end(self) -> Any:
        mine = self.some(state="open", by=self.head)
        if mine is None:
            return self.note()
        head, words = self.head, "Stands."
        return rulings.stet(by=head, note=mine, ruling=words, event=event())

    def decide(self) -> Any:
        word = self.chance.choice(list(Word)).value
        line = {"item": self.chance.choice(self.items), "word": word}
        return holding.decide(
            by=self.head,
            sitting=self.sitting,
            line=line,
            ruled_by=self.head,
            event=event(),
        )

    def issue(self) -> Any:
        item = self.chance.choice(self.up).item
        return sheets.issue_sheet(by=self.head, item=item, event=event())

    def turn(self) -> Any:
        key = self.chance.choice(self.items)
        return holding.turn_to(by=self.head, sitting=self.sitting, item_key=key)


def wanted(board: Served, begun: list[int]) -> list[list[str]]:
    """What the record counts for each reader since the client began."""
    book = Book.objects.get(key=board.told["book"])
    found = []
    for one, number in zip(board.told["people"], begun, strict=True):
        person = Person.objects.get(key=one["key"])
        events, _ = events_for(person, book, since=number, limit=100_000)
        found.append([event.sentence for event in events])
    return found
