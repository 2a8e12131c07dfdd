"""A whole board of sign-off as plain values, at one moment; and a paper to judge."""

from collections import defaultdict
from dataclasses import dataclass, field
from typing import NamedTuple

from accounts.models import Person
from board.books.models import Book, Item, ItemStage, ItemText
from board.books.rules import STAGES, Stage, Standing
from board.checks.models import CheckRun
from board.clippings.models import Clipping, Use
from board.revisions.models import Revision
from board.slips.models import BookSlip, Hold, Initial
from board.slips.queries.slates import lines_of
from board.slips.rules.stations import Asked, Line
from board.tissue.models import Note
from tests import make

Place = tuple[int, str]  # an item and a stage


class NoteRow(NamedTuple):
    """A note as the tables keep it."""

    item: int
    stage: str
    state: str
    sort: str
    facet: str
    role: str
    by: int
    ended_by: int | None
    words: str
    answer: str
    issued: bool

    @property
    def blocks(self) -> bool:
        return self.state == "open" and self.sort in {"direction", "query"}


class StageRow(NamedTuple):
    """One stage of an item."""

    order: int
    standing: str
    waived: bool


@dataclass(frozen=True)
class Snapshot:
    """What sign-off rests on: live initials are (key, item, stage, facet)."""

    live: frozenset[tuple[str, int, str, str]] = frozenset()
    bound: dict[str, tuple[str, int]] = field(default_factory=dict)
    listed: frozenset[str] = frozenset()
    revisions: dict[tuple[int, str, int], str] = field(default_factory=dict)
    rows: dict[Place, StageRow] = field(default_factory=dict)
    stages: dict[int, str] = field(default_factory=dict)
    standings: dict[int, str] = field(default_factory=dict)
    held: frozenset[int] = frozenset()
    notes: dict[str, NoteRow] = field(default_factory=dict)
    texts: dict[int, int] = field(default_factory=dict)
    book_slips: dict[str, tuple[str, bool]] = field(default_factory=dict)
    order: tuple[tuple[int, str], ...] = ()
    uncleared: frozenset[int] = frozenset()
    checks: dict[int, str] = field(default_factory=dict)
    lines: dict[str, tuple[Line, ...]] = field(default_factory=dict)

    def newest(self, item: int, stage: str) -> str:
        """The checksum of the last revision that was sent up there."""
        numbers = [n for i, s, n in self.revisions if (i, s) == (item, stage)]
        return self.revisions[item, stage, max(numbers)] if numbers else ""

    def missing(self, item: int) -> list[Line]:
        """Must lines without a live initial at the open stage, in group order."""
        stage = self.stages[item]
        live = {facet for _, i, s, facet in self.live if (i, s) == (item, stage)}
        must = [line for line in self.lines[stage] if line.asked is Asked.MUST]
        left = [line for line in must if line.facet.value not in live]
        return sorted(left, key=lambda line: line.group)

    def notes_on(self, item: int) -> dict[str, NoteRow]:
        """Notes of the item's open stage, oldest first."""
        here = item, self.stages.get(item)
        found = self.notes.items()
        return {key: one for key, one in found if (one.item, one.stage) == here}


def snapshot(book: Book) -> Snapshot:
    """The board as it is now, in twelve queries."""
    live = Initial.objects.filter(slip__item__book=book, ended_at=None)
    given = list(
        live.values_list(
            "key",
            "slip__item_id",
            "slip__stage",
            "facet",
            "bound_sha256",
            "text_version",
        )
    )
    rows, stages, standings = _stages(book)
    fresh = Book.objects.get(pk=book.pk)
    return Snapshot(
        live=frozenset(one[:4] for one in given),
        bound={one[0]: (one[4], one[5]) for one in given},
        listed=frozenset(
            live.exclude(listed=None).values_list("listed__key", flat=True)
        ),
        revisions={
            (item, stage, number or 0): sha256
            for item, stage, number, sha256 in Revision.objects.filter(
                item__book=book, number__isnull=False
            ).values_list("item_id", "stage", "number", "sha256")
        },
        rows=rows,
        stages=stages,
        standings=standings,
        held=frozenset(
            Hold.objects.filter(item__book=book, released_at=None).values_list(
                "item_id", flat=True
            )
        ),
        notes=_notes(book),
        texts=dict(
            ItemText.objects.filter(item__book=book)
            .order_by("text__number")
            .values_list("item_id", "text__number")
        ),
        book_slips={
            stage: (found, complete is not None)
            for stage, found, complete in BookSlip.objects.filter(
                book=book, lapsed_at=None
            ).values_list("stage", "list_hash", "complete_at")
        },
        order=tuple(
            Item.objects.filter(book=book, set_aside=False)
            .order_by("position")
            .values_list("pk", "key")
        ),
        uncleared=frozenset(
            Use.objects.filter(item__book=book, taken_off_at=None, gone_from=None)
            .exclude(clipping__clearance__in=["granted", "not needed"])
            .values_list("item_id", flat=True)
        ),
        checks=_checks(book),
        lines={stage.value: lines_of(fresh, stage) for stage in STAGES},
    )


def _checks(book: Book) -> dict[int, str]:
    """Of each current final its checks: running, stop, or neither where they passed."""
    newest: dict[int, int] = {}
    found: dict[int, str] = {}
    rows = Revision.objects.filter(
        item__book=book, stage=Stage.FINAL, number__isnull=False
    ).order_by("number", "check_runs__asked_at", "check_runs__pk")
    for item, number, work, told in rows.values_list(
        "item_id", "number", "check_runs__work", "check_runs__findings"
    ):
        before = found.get(item, "") if newest.get(item) == number else ""
        newest[item] = number or 0
        if work in {CheckRun.State.WAITING, CheckRun.State.WORKING}:
            found[item] = "running, stop" if "stop" in before else "running"
        elif work == CheckRun.State.DONE:
            found[item] = "stop" if any(x["level"] == "stop" for x in told) else ""
        else:  # failed, or none was asked for
            found[item] = "stop" if "stop" in before else ""
    return {item: word for item, word in found.items() if word}


def _stages(book: Book) -> tuple[dict[Place, StageRow], dict[int, str], dict[int, str]]:
    """Every stage's row, and of each item the latest open stage and its standing."""
    rows: dict[Place, StageRow] = {}
    stages: dict[int, str] = {}
    standings: dict[int, str] = defaultdict(lambda: Standing.SHUT.value)
    all_of = ItemStage.objects.filter(item__book=book).order_by("order")
    for item, stage, order, standing, waived in all_of.values_list(
        "item_id", "stage", "order", "standing", "waived"
    ):
        rows[item, stage] = StageRow(order, standing, bool(waived))
        if standing != Standing.SHUT and not waived:
            stages[item], standings[item] = stage, standing
    return rows, stages, dict(standings)


def _notes(book: Book) -> dict[str, NoteRow]:
    found = Note.objects.filter(item__book=book).values_list(
        "key", "item_id", "stage", "state", "sort", "facet", "role", "by_id",
        "ended_by_id", "words", "answer", "issued_at",
    )  # fmt: skip
    return {
        key: NoteRow._make([*rest, issued is not None])
        for key, *rest, issued in found.order_by("pk")
    }


def make_source(book: Book, by: Person) -> Clipping:
    """One paper that lies on the book's second item from the first picture on."""
    paper = Clipping.objects.create(
        book=book,
        code="C01",
        what="A tide table.",
        clearance_since=make.NOW,
        entered_by=by,
        entered_at=make.NOW,
    )
    Use.objects.create(
        clipping=paper,
        item=book.items.order_by("position")[1],
        how="by hand",
        by=by,
        at=make.NOW,
        event=make.event(),
    )
    return paper
