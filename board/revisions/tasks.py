"""Preparing revisions and storyboard sheets; each step may be repeated."""

from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

import numpy as np
from django.db import transaction
from django_tasks import task

from board.books.rules import Stage
from board.errors import NotUnderstood
from board.repro import leases, pairs, store, unlaid
from board.repro.comparing import register_pictures
from board.repro.darkroom import develop_apart, examine_apart
from board.repro.intake import Pixels
from board.repro.laying import lay
from board.repro.leases import SOMEBODY_WAITS, Lease
from board.repro.pairs import Placed
from board.repro.sheets import SheetSize, as_matrix
from board.repro.storyboards import cut_copy
from board.revisions.actions import PREPARE, enter_laid
from board.revisions.actions.storyboards import CUT
from board.revisions.actions.uploads import sweep_uploads
from board.revisions.models import Revision, StoryboardSheet
from board.revisions.queries import first_of_stage, reference_for, sheet_of
from board.revisions.rules import Declared, across_manners
from board.revisions.rules.storyboards import MOST_FRAMES

Laid = Revision.Laid
STRAY_MM = 3.0
TAP = (
    "You said that it shows more than the sheet. "
    "Tap the four corners of the trim, then it can be laid."
)
STRAYED = (
    "It fits the revision before but lies {off:.1f} mm off by the stage's first one. "
    "Look at both and lay it by hand."
)


@dataclass(frozen=True)
class Outcome:
    """Where a picture lies, or why it does not; the rest goes onto its row."""

    placed: Placed | None
    because: str = ""
    fields: dict[str, Any] = field(default_factory=dict)


@task(priority=SOMEBODY_WAITS)
def prepare(key: str) -> str:
    """Prepare the revision of this key, unless somebody does."""
    return leases.carry_out(Revision, key, _prepare)


def sweep() -> int:
    """Ring again for what waits or was let fall; end what was never finished."""
    sweep_uploads()
    cuts = leases.sweep(StoryboardSheet, CUT)
    return cuts + leases.sweep(Revision, PREPARE)


@task(priority=SOMEBODY_WAITS)
def cut_sheet(key: str) -> str:
    """Find the frames on the storyboard sheet of this key, unless somebody does."""
    return leases.carry_out(StoryboardSheet, key, _cut)


def _cut(lease: Lease) -> None:
    sheet: StoryboardSheet = lease.rows().get()
    store.require_room()
    examine_apart(store.original_path(sheet.sha256), sheet.filename)
    lease.write(step="checked")
    copy = _develop(lease, sheet)
    found = cut_copy(copy, (1, 1))  # so that corners are fractions of the sheet
    frames = [
        {"corners": frame.corners.round(5).tolist(), "item": ""}
        for frame in found.frames[:MOST_FRAMES]
    ]
    with transaction.atomic():
        lease.finish(
            step="ready", frames=frames, sure=found.sure, doubts=list(found.doubts)
        )
    unlaid.drop_developed(sheet.key)


def _prepare(lease: Lease) -> None:
    revision: Revision = lease.rows().select_related("item__book").get()
    store.require_room()
    _check(lease, revision)
    copy = _develop(lease, revision)
    outcome = _place(revision, copy, sheet_of(revision.item))
    if outcome.placed is None:
        _leave_unlaid(lease, revision, outcome)
    else:
        _lay(lease, revision, outcome.placed, outcome.fields)


def _check(lease: Lease, revision: Revision) -> None:
    seen = examine_apart(store.original_path(revision.sha256), revision.filename)
    revision.width, revision.height = seen.width, seen.height
    lease.write(
        step="checked",
        format=seen.format,
        mode=seen.mode,
        width=seen.width,
        height=seen.height,
    )


def _develop(lease: Lease, revision: Revision | StoryboardSheet) -> Pixels:
    """Develop the original, unless an earlier attempt did; gives its working copy."""
    done = unlaid.developed_already(revision.key)
    if done is None:
        out = unlaid.developed_path(revision.key)
        original = store.original_path(revision.sha256)
        done = develop_apart(original, out, revision.filename)
    revision.width, revision.height = done.width, done.height
    copy = unlaid.keep_glimpse(revision.key)
    lease.write(step="developed", width=done.width, height=done.height)
    return copy


def _place(revision: Revision, copy: Pixels, sheet: SheetSize) -> Outcome:
    try:
        if revision.matrix is not None:  # it lay already; the sheet became another
            return _where_it_lay(revision)
        if revision.laid == Laid.BY_HAND:
            return Outcome(_by_points(revision, sheet), fields={"laid": Laid.BY_HAND})
        older = None if revision.laid else reference_for(revision)
        if older is None:
            return _by_word(revision, sheet)
        return _registered(revision, copy, older, sheet)
    except NotUnderstood as refused:
        return Outcome(None, refused.says)


def _where_it_lay(revision: Revision) -> Outcome:
    placed = Placed(as_matrix(revision.matrix or []), _bar(revision))
    kept = {"laid": revision.laid, "residual_mm": revision.residual_mm}
    return Outcome(placed, fields=kept)


def _by_points(revision: Revision, sheet: SheetSize) -> Placed:
    size = (revision.width, revision.height)
    here = np.array([point["here"] for point in revision.points], np.float64)
    if revision.laid != Laid.BY_HAND:
        return pairs.by_corners(size, here, sheet)
    there = np.array([point["there"] for point in revision.points], np.float64)
    return pairs.by_pairs(size, here, there, sheet)


def _by_word(revision: Revision, sheet: SheetSize) -> Outcome:
    declared = Declared(revision.declared)
    if declared is Declared.CORNERS:
        if len(revision.points) != 4:
            return Outcome(None, TAP)
        return Outcome(_by_points(revision, sheet), fields={"laid": Laid.CORNERS})
    size = (revision.width, revision.height)
    placed = pairs.by_word(size, sheet, bled=declared is Declared.BLED)
    return Outcome(placed, fields={"laid": declared.value})


def _registered(
    revision: Revision, copy: Pixels, older: Revision, sheet: SheetSize
) -> Outcome:
    found = _upon(revision, copy, older, sheet)
    if found.placed is None:
        return found
    first = first_of_stage(revision)
    if first is None or first.pk == older.pk:
        return found
    return _checked_against(first, found, revision, copy, sheet)


def _upon(
    revision: Revision, copy: Pixels, older: Revision, sheet: SheetSize
) -> Outcome:
    under = unlaid.laid_working(older.picture)
    across = across_manners(Stage(revision.stage), Stage(older.stage))
    found = register_pictures(copy, under, across_manners=across)
    if found.matrix is None:
        return Outcome(None, found.reason)
    older_copy = (under.shape[1], under.shape[0])
    matrix = pairs.upon(
        found.matrix,
        newer=(revision.width, revision.height),
        newer_copy=(copy.shape[1], copy.shape[0]),
        older_copy=older_copy,
        sheet=sheet,
    )
    bar = found.error_bar * float(np.hypot(*older_copy))
    error = float(np.hypot(bar * pairs.mm_per_pixel(older_copy, sheet), _bar(older)))
    fields = {
        "laid": Laid.REGISTERED,
        "laid_on": older,
        "confidence": round(found.confidence, 4),
    }
    return Outcome(Placed(matrix, error), fields=fields)


def _bar(older: Revision) -> float:
    return older.error_bar_mm or 0.0


def _checked_against(
    first: Revision,
    found: Outcome,
    revision: Revision,
    copy: Pixels,
    sheet: SheetSize,
) -> Outcome:
    """Hold it against the stage's first too, so that errors do not add up."""
    again = _upon(revision, copy, first, sheet)
    if again.placed is None or found.placed is None:
        return found
    size = (revision.width, revision.height)
    off = pairs.apart_mm(found.placed.matrix, again.placed.matrix, size, sheet)
    allowed = STRAY_MM + found.placed.error_bar_mm + again.placed.error_bar_mm
    if off > allowed:
        return Outcome(None, STRAYED.format(off=off))
    bar = max(found.placed.error_bar_mm, off)
    fields = found.fields | {"residual_mm": round(off, 3)}
    return Outcome(Placed(found.placed.matrix, bar), fields=fields)


def _leave_unlaid(lease: Lease, revision: Revision, outcome: Outcome) -> None:
    with transaction.atomic():
        lease.finish(
            step="unlaid", laid="", matrix=None, unlaid_because=outcome.because
        )


def _lay(
    lease: Lease, revision: Revision, placed: Placed, fields: dict[str, Any]
) -> None:
    matrix = placed.matrix.tolist()
    sheet = sheet_of(revision.item)
    mark = sha256(repr((matrix, sheet)).encode()).hexdigest()[:8]
    picture = f"{revision.key}-{mark}"
    developed = unlaid.developed_path(revision.key)
    with store.new_picture(picture) as folder:
        lay(developed, placed.matrix, sheet, folder)
    lease.write(step="laid")
    with transaction.atomic():
        lease.finish(
            step="ready",
            matrix=matrix,
            picture=picture,
            error_bar_mm=round(placed.error_bar_mm, 3),
            unlaid_because="",
            **({"residual_mm": None} | fields),
        )
        enter_laid(Revision.objects.select_related("item").get(pk=revision.pk))
    unlaid.drop_developed(revision.key)
