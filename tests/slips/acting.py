"""The first item of a walk's board, acted on step by step."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from board.books.actions.formats import FormatDraft
from board.books.models import Book, Item
from board.permits import Role
from board.slips.actions import formats, initials, notes, sheets
from board.slips.queries.receipts import receipt_for
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from tests import make
from tests.slips.snapshots import snapshot
from tests.slips.walk import Walk
from tests.slips.wider import FACETS

R = Role
Anything = Any  # what an act makes is of every kind
BOX = [[0.3, 0.3], [0.5, 0.5]]


@dataclass
class Stage:
    """The first item of a walk's board, acted on step by step."""

    walk: Walk
    item: Item

    def act(self, name: str, do: Callable[[], Anything]) -> Anything:
        """One act, as the walk takes it."""
        self.walk.before, self.walk.tried = snapshot(self.walk.book), name
        self.walk.last, self.walk.stopped = "", ()
        made = do()
        self.walk.last, self.walk.now = name, snapshot(self.walk.book)
        self.walk.done[name] += 1
        return made

    def who(self, role: Role) -> Anything:
        return self.walk.people[role]

    def initial(self, role: Role, facet: str = "", receipt: str = "") -> None:
        who, shown = self.who(role), self.walk.current(self.item)
        self.act(
            "initial",
            lambda: initials.initial(
                by=who,
                item=self.item,
                facet=facet or FACETS[role],
                receipt=receipt or receipt_for(who, self.item, shown),
                event=make.event(),
            ),
        )

    def note(self, role: Role, points: Sequence[Sequence[float]] = BOX) -> Note:
        draft = NoteDraft("direction", "Move it.", "box", points)
        on = self.walk.current(self.item)
        made: Note = self.act(
            "raise",
            lambda: notes.raise_note(
                by=self.who(role), on=on, draft=draft, event=make.event()
            ),
        )
        return made

    def send_up(self) -> None:
        self.act("send up", lambda: self.walk.send_up(self.item))

    def issue(self) -> None:
        by = self.who(R.ART_DIRECTOR)
        self.act(
            "issue",
            lambda: sheets.issue_sheet(by=by, item=self.item, event=make.event()),
        )

    def format(self, **new: float) -> None:
        book = Book.objects.get(pk=self.walk.book.pk)
        draft = replace(FormatDraft.of(book), **new)  # type: ignore[arg-type]  # lengths
        self.act(
            "format",
            lambda: formats.change_format(
                by=self.who(R.PRODUCTION),
                book=book,
                draft=draft,
                reasons={"reason": "x", "code": "PE", "payer": "printer"},
                version=book.version,
                event=make.event(),
            ),
        )

    def text(self) -> None:
        self.act("text", lambda: self.walk.text(self.item))
