"""A random walk through sign-off: everybody does anything, the invariants must hold.

python3 manage.py soak --events 2000 --seed 7
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

from board.books.models import Item
from board.errors import BoardError
from board.permits import Role
from board.slips.actions import (
    stages,
)
from board.tissue.models import Note
from tests import make
from tests.slips import way, wider
from tests.slips.acts import Acts
from tests.slips.snapshots import Snapshot, make_source, snapshot

WEIGHTS = {
    "open stage": 4,
    "waive": 1,
    "send up": 9,
    "stand by": 1,
    "raise": 10,
    "pass on": 6,
    "issue": 4,
    "answer": 9,
    "close": 9,
    "put back": 1,
    "stet": 2,
    "merge": 1,
    "withdraw": 2,
    "rule pair": 3,
    "initial": 30,
    "as corrected": 6,
    "refuse": 2,
    "pull": 1,
    "hold": 1,
    "release": 3,
    "ask reopening": 1,
    "agree reopening": 1,
    "text": 1,
    "short slip": 2,
    "format": 1,
    "stations": 1,
    "deputy": 1,
    "clearance": 1,
    "checks": 3,
    "rule late": 1,
    "late arrival": 1,
    "reading": 1,
    "sign book": 3,
    "hand over": 2,
    "recall": 2,
    way.FURTHER: 70,
}


@dataclass
class Walk(Acts):
    """One board, one seeded chance, and what was tried."""

    done: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    after: Callable[[str, Item], None] = lambda name, item: None
    before: Snapshot = field(default_factory=Snapshot)
    last: str = ""
    tried: str = ""
    stopped: tuple[str, ...] = ()
    events: int = 0
    sheets: dict[str, list[tuple[int, str]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__post_init__()
        self.acts: dict[str, Callable[[Item], object]] = {
            "open stage": self.open_stage,
            "waive": self.waive,
            "send up": self.send_up,
            "stand by": self.stand_by,
            "raise": self.raise_note,
            "pass on": self.pass_on,
            "issue": self.issue,
            "answer": self.answer,
            "close": self.close,
            "put back": self.put_back,
            "stet": self.stet,
            "merge": self.merge,
            "withdraw": self.withdraw,
            "rule pair": self.rule_pair,
            "initial": self.initial,
            "as corrected": self.as_corrected,
            "refuse": self.refuse,
            "pull": self.pull,
            "hold": self.hold,
            "release": self.release,
            "ask reopening": self.ask_reopening,
            "agree reopening": self.agree_reopening,
            "text": self.text,
            "short slip": self.short_slip,
            "format": partial(wider.another_format, self),
            "stations": partial(wider.other_stations, self),
            "deputy": partial(wider.deputy, self),
            "clearance": partial(wider.clearance, self),
            "checks": partial(wider.checks, self),
            "rule late": partial(wider.rule_late, self),
            "late arrival": partial(wider.late_arrival, self),
            "reading": partial(wider.read_through, self),
            "sign book": partial(wider.sign_book, self),
            "hand over": partial(wider.hand_over, self),
            "recall": partial(wider.recall, self),
        }
        self.now = snapshot(self.book)

    def items(self) -> list[Item]:
        found = Item.objects.filter(book=self.book, set_aside=False)
        return list(found.select_related("book").order_by("position"))

    def waiting_late(self) -> list[Item]:
        """Items on which a late note waits for a ruling."""
        late = Note.objects.filter(item__in=self.items(), state="late", waits_for="")
        return [note.item for note in late.select_related("item")]

    def step(self) -> str:
        """Try one act by chance on one item by chance."""
        name = self.chance.choices(list(WEIGHTS), list(WEIGHTS.values()))[0]
        return self.take(name, self.chance.choice(self.items()))

    def take(self, name: str, item: Item) -> str:
        """Try this act; a refusal is an outcome like any other."""
        self.before, self.last, self.stopped = self.now, "", ()
        item = Item.objects.select_related("book").get(pk=item.pk)
        try:
            name, act = self._act(name, item)
            self.tried = name
            act()
            self.done[name] += 1
            self.last = name
        except BoardError as stopped:
            self.refused[name] += 1
            self.stopped = stopped.reasons or (str(stopped),)
        except LookupError:  # nothing there to act on
            return name
        self.events += 1
        self.now = snapshot(self.book)
        self.after(name, item)
        return name

    def _act(self, name: str, item: Item) -> way.Act:
        if name == way.FURTHER:
            return way.further(self, item)
        return name, lambda: self.acts[name](item)


def new_walk(seed: int) -> Walk:
    """A book of eight pages, the whole cast, its sketches hung."""
    book = make.book(extent=8)
    people = {role: make.person(name=f"The {role.value}") for role in Role}
    for role, person in people.items():
        make.credit(on=book, who=person, role=role)
    make_source(book, people[Role.ILLUSTRATOR])
    walk = Walk(seed, book, people)
    director = people[Role.ART_DIRECTOR]
    for item in walk.items():
        for stage in ("thumbnails", "washes"):
            event = make.event()
            stages.waive_stage(
                by=director, item=item, stage=stage, reason="x", event=event
            )
        stages.open_stage(by=director, item=item, stage="sketch", event=make.event())
        walk.send_up(item)
    walk.before = walk.now = snapshot(book)
    return walk
