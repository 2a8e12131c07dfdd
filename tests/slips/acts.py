"""What people do to one item on a walk, by seeded chance."""

import random
from dataclasses import dataclass, field

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import STAGES, Stage
from board.permits import Role
from board.revisions.models import Revision
from board.slips.actions import (
    holds,
    initials,
    notes,
    reopenings,
    rulings,
    sheets,
    short,
    stages,
    texts,
)
from board.slips.models import Hold, Initial, Reopening
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import stage_of
from board.tissue.models import Note
from board.tissue.rules import CLASSES, NoteDraft
from tests import make
from tests.slips.snapshots import Snapshot
from tests.slips.wider import FACETS, OWNER


@dataclass
class Acts:
    """A board, its people, and one act for each word of sign-off."""

    seed: int
    book: Book
    people: dict[Role, Person]
    now: Snapshot = field(default_factory=Snapshot)

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)  # noqa: S311 - a seeded walk

    def somebody(self, *roles: Role) -> Person:
        return self.people[self.chance.choice(roles or tuple(Role))]

    def current(self, item: Item, *, newest: bool = False) -> Revision:
        """A picture that was sent up at the open stage, mostly the last one."""
        row = stage_of(item)
        if row is None:
            raise LookupError
        sent = item.revisions.filter(stage=row.stage, number__isnull=False)
        newest = newest or self.chance.random() < 0.7
        return self.chance.choice(list(sent.order_by("number"))[-1 if newest else 0 :])

    def a_note(self, item: Item, *states: str) -> Note:
        return self.chance.choice(
            list(Note.objects.filter(item=item, state__in=states or ("open",)))
        )

    def open_stage(self, item: Item) -> object:
        row = stage_of(item)
        after = STAGES[row.order + 1 : row.order + 2] if row else STAGES[:1]
        stage = self.chance.choice(after or STAGES)
        by = self.somebody(*[Role.ART_DIRECTOR] * 4, Role.EDITOR)
        return stages.open_stage(by=by, item=item, stage=stage, event=make.event())

    def waive(self, item: Item) -> object:
        stage = self.chance.choice([Stage.THUMBNAILS, Stage.WASHES])
        return stages.waive_stage(
            by=self.people[Role.ART_DIRECTOR],
            item=item,
            stage=stage,
            reason="straight on",
            event=make.event(),
        )

    def send_up(self, item: Item) -> object:
        row = stage_of(item)
        if row is None:
            raise LookupError
        artist = self.people[Role.ILLUSTRATOR]
        new = make.revision(of=item, by=artist, stage=Stage(row.stage))
        event = make.event()
        sent = stages.send_up(by=artist, revision=new, event=event)
        if self.chance.random() < 0.2:  # sent again: the same one
            stages.send_up(by=artist, revision=new, event=event)
        return sent

    def stand_by(self, item: Item) -> object:
        by = self.somebody(Role.ILLUSTRATOR, Role.ART_DIRECTOR)
        return stages.stand_by(by=by, item=item, event=make.event())

    def raise_note(self, item: Item) -> object:
        x, y = self.chance.uniform(-0.1, 1.0), self.chance.uniform(-0.1, 1.0)
        draft = NoteDraft(
            self.chance.choice(CLASSES),
            f"note {self.chance.random()}",
            "box",
            [[x, y], [x + 0.3, y + 0.3]],
        )
        by, on, event = self.somebody(), self.current(item), make.event()
        made = notes.raise_note(by=by, on=on, draft=draft, event=event)
        if self.chance.random() < 0.2:  # sent again: the same one
            again = notes.raise_note(by=by, on=on, draft=draft, event=event)
            assert again == made
        return made

    def pass_on(self, item: Item) -> object:
        note = self.a_note(item, "with editor")
        by = self.somebody(Role.EDITOR, Role.EDITOR, Role.ART_DIRECTOR)
        if self.chance.random() < 0.3:
            return notes.decline(by=by, note=note, reason="no", event=make.event())
        return notes.pass_on(by=by, note=note, words="", event=make.event())

    def issue(self, item: Item) -> object:
        by = self.people[Role.ART_DIRECTOR]
        return sheets.issue_sheet(by=by, item=item, event=make.event())

    def answer(self, item: Item) -> object:
        return notes.answer(
            by=self.people[Role.ILLUSTRATOR],
            note=self.a_note(item),
            answer=self.chance.choice(["done", "done", "not done because", "query"]),
            words="so",
            event=make.event(),
        )

    def _owner(self, note: Note) -> Person:
        return self.chance.choice([note.by, self.people[OWNER[note.facet]]])

    def close(self, item: Item) -> object:
        note = self.a_note(item)
        return rulings.close(by=self._owner(note), note=note, event=make.event())

    def put_back(self, item: Item) -> object:
        note = self.a_note(item)
        return rulings.put_back(
            by=self._owner(note), note=note, reason="not yet", event=make.event()
        )

    def stet(self, item: Item) -> object:
        note = self.a_note(item, "open", "late")
        by = self.chance.choice([self._owner(note), self.somebody()])
        return rulings.stet(by=by, note=note, ruling="stands", event=make.event())

    def merge(self, item: Item) -> object:
        note, into = self.a_note(item), self.a_note(item)
        by = self._owner(note)
        return rulings.merge(by=by, note=note, into=into, event=make.event())

    def withdraw(self, item: Item) -> object:
        note = self.a_note(item, "open", "with editor", "stands", "late")
        return notes.withdraw(by=note.by, note=note, event=make.event())

    def rule_pair(self, item: Item) -> object:
        one, other = self.a_note(item), self.a_note(item)
        return rulings.rule_pair(
            by=self.people[Role.ART_DIRECTOR],
            one=one,
            other=other,
            ruling=self.chance.choice(["clash", "same", "unrelated"]),
            event=make.event(),
        )

    def initial(self, item: Item) -> object:
        role = self.chance.choice(list(FACETS))
        missing = self.now.missing(item.pk) if item.pk in self.now.stages else []
        if missing and self.chance.random() < 0.7:
            role = missing[0].station
        who = self.people[role] if self.chance.random() < 0.95 else self.somebody()
        event, receipt = make.event(), receipt_for(who, item, self.current(item))

        def give() -> Initial:
            return initials.initial(
                by=who, item=item, facet=FACETS[role], receipt=receipt, event=event
            )

        given = give()
        if self.chance.random() < 0.2:  # sent again: the same one
            assert give() == given
        return given

    def as_corrected(self, item: Item) -> object:
        note = self.a_note(item)
        role = self.chance.choice([note_role(note), Role.ART_DIRECTOR])
        who = self.people[role]
        return initials.initial(
            by=who,
            item=item,
            facet=FACETS.get(role, "art"),
            receipt=receipt_for(who, item, self.current(item)),
            event=make.event(),
            listed=[note.key],
        )

    def refuse(self, item: Item) -> object:
        note = self.a_note(item)
        facet = FACETS.get(note_role(note), "art")
        return initials.refuse(
            by=note.by, item=item, facet=facet, note=note, reason="", event=make.event()
        )

    def pull(self, item: Item) -> object:
        live = list(Initial.objects.filter(slip__item=item, ended_at=None))
        given = self.chance.choice(live)
        return initials.pull(
            by=given.person, given=given, reason="second thought", event=make.event()
        )

    def hold(self, item: Item) -> object:
        by = self.somebody(Role.EDITOR, Role.ART_DIRECTOR, Role.RIGHTS)
        return holds.hold(by=by, item=item, reason="wait", event=make.event())

    def release(self, item: Item) -> object:
        held = self.chance.choice(
            list(Hold.objects.filter(item=item, released_at=None))
        )
        by = self.chance.choice([held.by, self.people[Role.PUBLISHER]])
        return holds.release(by=by, held=held, event=make.event())

    def ask_reopening(self, item: Item) -> object:
        draft = {"code": "EA", "reason": "x", "payer": "house"}
        return reopenings.ask_reopening(
            by=self.somebody(Role.EDITOR, Role.ART_DIRECTOR, Role.PUBLISHER),
            item=item,
            stage=self.chance.choice([Stage.SKETCH, *STAGES]),
            draft=draft,
            event=make.event(),
        )

    def agree_reopening(self, item: Item) -> object:
        asked = Reopening.objects.filter(item=item, agreed_at=None, dropped_at=None)
        return reopenings.agree_reopening(
            by=self.somebody(Role.EDITOR, Role.ART_DIRECTOR),
            reopening=self.chance.choice(list(asked)),
            event=make.event(),
        )

    def text(self, item: Item) -> object:
        return texts.make_text_version(
            by=self.people[Role.EDITOR],
            book=self.book,
            words={item.key: f"words {self.chance.random()}"},
            reasons={"reason": "x", "code": "AA", "payer": "house"},
            event=make.event(),
        )

    def short_slip(self, item: Item) -> object:
        by = self.people[Role.ART_DIRECTOR]
        return short.short_slip(by=by, item=item, event=make.event())


def note_role(note: Note) -> Role:
    return Role(note.role)
