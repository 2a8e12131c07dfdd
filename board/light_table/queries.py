"""Reading comparisons as their asker may see them."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from accounts.models import Person
from board.books.rules import STAGES, Stage, Standing
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotFound
from board.light_table.models import Comparison
from board.light_table.rules import (
    PLAN_ONLY,
    STEP_WORDS,
    STEPS,
    compares_colour,
    in_words,
)
from board.repro import store
from board.repro.changes import OVERLAY, RECIPE
from board.repro.grants import grant_tiles
from board.repro.sheets import Rect, sheet_rect
from board.revisions.models import Revision
from board.revisions.queries import (
    reference_for,
    require_seen,
    scope_of,
    sent_up,
    sheet_of,
)

AGREED = (Standing.OK, Standing.OK_AS_CORRECTED)


@dataclass(frozen=True)
class Compared:
    """A comparison as pages and programs take it.

    `changes` lie on the sheet, largest first; `picture` is the address of a transparent
    drawing of them that covers `rect`, good until the second `until`.
    """

    key: str
    before: str
    after: str
    state: str
    step: str
    says: str
    share: float
    over: bool
    colour: bool
    changes: list[dict[str, float]]
    noise: float | None
    rect: Rect
    picture: str
    until: int

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def comparison_row(person: Person, key: str) -> Comparison:
    """The comparison: 404 unless this person may see both of its revisions."""
    rows = Comparison.objects.select_related("before__item__book", "after__item__book")
    found = rows.filter(key=key).first()
    if found is None:
        raise NotFound
    require_seen(found.before, person)
    require_seen(found.after, person)
    return found


def comparison_for(person: Person, key: str) -> Compared:
    """How the comparison stands, for this person's eyes."""
    return told(comparison_row(person, key), person)


def told(row: Comparison, person: Person) -> Compared:
    """A comparison in plain values with addresses signed for this person."""
    item = row.after.item
    colour = compares_colour(Stage(row.before.stage), Stage(row.after.stage))
    picture, until = _drawing(row, person)
    steps = STEPS.index(row.step) + 1 if row.step in STEPS else 0
    over = row.work in (row.State.DONE, row.State.FAILED)
    return Compared(
        key=row.key,
        before=row.before.key,
        after=row.after.key,
        state=row.work,
        step=row.step,
        says=_says(row, colour=colour),
        share=1.0 if over else steps / len(STEPS),
        over=over,
        colour=colour,
        changes=row.changes,
        noise=row.noise,
        rect=sheet_rect(sheet_of(item)),
        picture=picture,
        until=until,
    )


def _says(row: Comparison, *, colour: bool) -> str:
    if row.work == row.State.FAILED:
        return row.failure
    if row.work != row.State.DONE:
        return STEP_WORDS.get(row.step, "")
    return in_words(len(row.changes), row.noise) if colour else PLAN_ONLY


def _drawing(row: Comparison, person: Person) -> tuple[str, int]:
    if not row.picture or not (store.picture_folder(row.picture) / OVERLAY).exists():
        return "", 0
    address = grant_tiles(row.picture, scope_of(row.after.item.book, person))
    return f"{address}/{OVERLAY}", int(address.split("/")[2])


def comparison_of(before: Revision, after: Revision) -> Comparison | None:
    """The comparison of a pair as it lies now, if it was asked for."""
    return Comparison.objects.filter(
        before=before, after=after, recipe=recipe_of(before, after)
    ).first()


def held_against(
    revision: Revision, up: Sequence[Revision] | None = None
) -> Revision | None:
    """What a revision is compared with: the one sent up before it at its stage.

    For one in the folder that is the current, for a stage's first one the last of the
    stages before, thumbnails left out. `up` are the sent up ones, where fetched already.
    """
    rows = sent_up(revision.item) if up is None else up
    number = revision.number or math.inf
    same = [
        one
        for one in rows
        if one.stage == revision.stage and (one.number or 0) < number
    ]
    if same:
        return max(same, key=lambda one: one.number or 0)
    if revision.number is None:
        return reference_for(revision)
    return max(
        (one for one in rows if 0 < _order(one) < _order(revision)),
        key=lambda one: (_order(one), one.number or 0),
        default=None,
    )


def _order(revision: Revision) -> int:
    return STAGES.index(Stage(revision.stage))


def last_ok(revision: Revision) -> Revision | None:
    """The newest earlier revision with which its stage came OK, as the daybook has it.

    The daybook enters the standing, not the picture: it was the one last sent up.
    """
    item, number, found = revision.item, 0, 0
    latest = revision.number or math.inf
    rows = Entry.objects.filter(
        book_key=item.book.key,
        item_key=item.key,
        stage=revision.stage,
        kind__in=(Happened.SENT_UP, Happened.STANDING_MOVED),
    )
    for kind, details in rows.order_by("number").values_list("kind", "details"):
        if kind == Happened.SENT_UP:
            number = details["revision"]
        elif details["to"] in AGREED and number < latest:
            found = number
    return sent_up(item).filter(stage=revision.stage, number=found).first()


def recipe_of(before: Revision, after: Revision) -> str:
    """What a comparison is kept under: how it is made, and how both lie."""
    return f"{RECIPE}:{before.picture[-12:]}:{after.picture[-12:]}"
