"""Everything a room shows of an item, gathered once for one reader."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects

from accounts.models import Person
from board.books.models import Box, Item, ItemStage, ItemText
from board.books.queries import text_of
from board.books.rules import Standing
from board.checks.queries import Checked, checks_for
from board.errors import NotFound
from board.light_table.queries import held_against
from board.permits import Act, Role, may
from board.revisions.models import Revision
from board.revisions.queries import (
    called,
    folder_of,
    how_laid,
    revision_for,
    sent_up,
    sheet_of,
)
from board.revisions.queries.told import told_picture
from board.slips.models import Hold, Reopening, Slip
from board.slips.queries.lines import (
    SlipLine,
    acts_on,
    holds_on,
    reopening_asked,
    slip_lines,
    standing_of,
)
from board.slips.queries.notes import note_acts
from board.slips.queries.receipts import receipt_for
from board.slips.queries.sentences import look_at, why_not_ok_told
from board.tissue.models import Note, NotePicture, NoteSheet
from board.tissue.queries import (
    NoteSeen,
    notes_for,
    pairs_to_rule,
    picture_address,
    sheets_for,
)
from board.tissue.queries.asking import (
    ChangeSeen,
    NoteBecame,
    became_of,
    ledger_for,
)
from board.tissue.rules import Region
from board.viewing.rules import Crop, crop_round, write_points


@dataclass(frozen=True)
class Choice:
    """A revision in the chooser, called as people call it."""

    revision: Revision
    called: str
    shown: bool
    current: bool


@dataclass(frozen=True)
class Row:
    """A note as the note sheet rules it, with what this reader may do."""

    seen: NoteSeen
    acts: tuple[str, ...]
    points: str
    ended: bool
    became: NoteBecame | None = None
    crop: Crop | None = None
    pictures: tuple[tuple[NotePicture, str], ...] = ()

    @property
    def note(self) -> Note:
        return self.seen.note


@dataclass(frozen=True)
class Shown:
    """Which revision the room shows, and what else could be chosen."""

    revision: Revision | None
    current: Revision | None
    choices: tuple[Choice, ...]
    stage: ItemStage | None

    @property
    def called(self) -> str:
        """What people call the shown revision."""
        return called(self.revision) if self.revision else ""

    @property
    def before(self) -> Revision | None:
        """What the current revision is held against."""
        up = [choice.revision for choice in self.choices]
        return held_against(self.current, up) if self.current else None

    @property
    def in_folder(self) -> bool:
        return self.revision is not None and not self.revision.is_up

    @property
    def superseded(self) -> bool:
        """Whether a newer revision is up than the one that is shown."""
        return (
            self.revision is not None
            and self.current is not None
            and self.revision.is_up
            and self.revision.pk != self.current.pk
        )


@dataclass(frozen=True)
class Room:
    """One item's room for one reader."""

    item: Item
    shown: Shown
    picture: dict[str, Any] | None
    laid: str
    rows: tuple[Row, ...]
    lines: tuple[SlipLine, ...]
    why_not: tuple[str, ...]
    acts: frozenset[str]
    holds: tuple[Hold, ...]
    reopening: Reopening | None
    sheets: tuple[NoteSheet, ...]
    pairs: tuple[tuple[Note, Note, float], ...]
    text: ItemText | None
    boxes: tuple[Box, ...]
    folder: tuple[Revision, ...]
    receipt: str
    pair: dict[str, Any] | None = None
    checked: Checked | None = None
    roles: frozenset[Role] = field(default=frozenset())

    @property
    def checks(self) -> str:
        """The worst of the shown revision's checks, in a word."""
        return self.checked.level.value if self.checked else ""

    @property
    def open_rows(self) -> list[Row]:
        return [row for row in self.rows if not row.ended]

    @property
    def ended_rows(self) -> list[Row]:
        return [row for row in self.rows if row.ended]


def shown_in(person: Person, item: Item, asked: str = "") -> Shown:
    """The revision asked for, else the last that was sent up."""
    prefetch_related_objects(
        [item], Prefetch("stages", queryset=ItemStage.objects.order_by("order"))
    )
    up = list(sent_up(item).select_related("laid_on", "by").defer("points"))
    latest = _newest(up, item)
    revision = latest
    if asked:
        by_key = {one.key: one for one in up}
        revision = by_key.get(asked) or revision_for(person, asked)
        if revision.item_id != item.pk:
            raise NotFound
    if revision is not None:
        revision.item = item
    choices = [
        Choice(
            revision=one,
            called=called(one),
            shown=revision is not None and one.pk == revision.pk,
            current=latest is not None and one.pk == latest.pk,
        )
        for one in up
    ]
    return Shown(revision, latest, tuple(choices), standing_of(item))


def _newest(up: list[Revision], item: Item) -> Revision | None:
    """The current revision of the latest stage that has one."""
    order = {row.stage: row.order for row in item.stages.all()}
    return max(up, key=lambda one: (order[one.stage], one.number or 0), default=None)


def room_for(person: Person, item: Item, asked: str = "") -> Room:
    """Gather the room; the number of queries does not grow with the notes."""
    shown = shown_in(person, item, asked)
    look = look_at(item, person)
    roles, slate = look.to.roles, look.slate
    revision = shown.revision
    ready = revision is not None and not shown.superseded and revision.is_up
    acts = frozenset(acts_on(item, person, look)) | _short(shown, roles)
    pairs = bool(slate and slate.unruled_pairs) and may(Act.RULE_PAIR, roles)
    return Room(
        item=item,
        shown=shown,
        picture=told_picture(revision, person),
        laid=how_laid(revision) if revision else "",
        rows=tuple(rows_for(person, item, roles, shown)),
        lines=tuple(slip_lines(item, person, look)),
        why_not=tuple(why_not_ok_told(item, person, look)),
        acts=acts,
        holds=tuple(holds_on(item)) if slate and slate.holds else (),
        reopening=reopening_asked(item) if "agree_reopening" in acts else None,
        sheets=tuple(sheets_for(person, item, roles=roles)),
        pairs=tuple(pairs_to_rule(item)) if pairs else (),
        text=text_of(item),
        boxes=tuple(item.boxes.all()),
        folder=tuple(folder_of(item, person)) if may(Act.UPLOAD, roles) else (),
        receipt=receipt_for(person, item, revision) if ready and revision else "",
        pair=pair_of(shown, person),
        checked=checks_for(person, revision) if revision else None,
        roles=roles,
    )


def _short(shown: Shown, roles: frozenset[Role]) -> frozenset[str]:
    """A short slip may be called after a revision that left OK as corrected."""
    row = shown.stage
    if row is None or row.standing != Standing.HUNG or not may(Act.SHORT_SLIP, roles):
        return frozenset()
    slip = Slip.objects.filter(
        item=row.item_id, stage=row.stage, closed_at=None
    ).first()
    called_for = slip and slip.left == Standing.OK_AS_CORRECTED and not slip.short
    return frozenset({"short_slip"} if called_for else ())


def pair_of(shown: Shown, person: Person) -> dict[str, Any] | None:
    """The current revision and the one it is held against, as crops are cut of them."""
    before, after = shown.before, shown.current
    pictures = told_picture(before, person), told_picture(after, person)
    if before is None or after is None or None in pictures:
        return None
    return {
        "before": pictures[0],
        "after": pictures[1],
        "names": (called(before), called(after)),
    }


def rows_for(
    person: Person, item: Item, roles: frozenset[Role], shown: Shown
) -> Iterable[Row]:
    """The item's notes as rows, in the order they are read."""
    seen = notes_for(person, item, roles=roles)
    acts = note_acts(person, item, seen, roles=roles)
    before, after = shown.before, shown.current
    became = became_of(before, after, seen) if before and after and seen else {}
    for one in seen:
        note = one.note
        told = became.get(note.key)
        yield Row(
            became=told,
            crop=crop_of(item, told.region) if told and told.region else None,
            pictures=tuple(
                (picture, picture_address(picture, person, item.book))
                for picture in one.pictures
            ),
            seen=one,
            acts=acts[note.key],
            points="" if note.place_unknown else write_points(note.points),
            ended=not one.is_open and note.state != Note.State.STANDS,
        )


def crop_of(item: Item, place: Region | Box) -> Crop:
    """The window round a place of the item."""
    return crop_round(
        (place.x, place.y, place.width, place.height),
        width_mm=item.width_mm,
        height_mm=item.height_mm,
        around_mm=sheet_of(item).around_mm,
    )


def became_now(person: Person, note: Note) -> NoteBecame | None:
    """What became of one note's place on the current revision."""
    shown = shown_in(person, note.item)
    if shown.before is None or shown.current is None:
        return None
    seen = [one for one in notes_for(person, note.item) if one.note.pk == note.pk]
    return became_of(shown.before, shown.current, seen).get(note.key)


@dataclass(frozen=True)
class Rehearsal:
    """What the light table says of a revision before it goes up.

    `quiet` are lines answered done where nothing changed, `unasked` are changes that
    nobody asked for.
    """

    before: Revision
    after: Revision
    ready: bool
    colour: bool
    quiet: tuple[NoteSeen, ...]
    unasked: tuple[ChangeSeen, ...]


def rehearsal_for(person: Person, revision: Revision) -> Rehearsal | None:
    """The artist's answers beside what was measured; none for a first picture."""
    before = held_against(revision)
    if before is None or revision.is_up:
        return None
    ledger = ledger_for(person, before, revision)
    quiet = tuple(one.seen for one in ledger.notes if one.is_quiet)
    return Rehearsal(
        before=before,
        after=revision,
        ready=ledger.ready,
        colour=ledger.colour,
        quiet=quiet if ledger.ready else (),
        unasked=ledger.not_asked,
    )
