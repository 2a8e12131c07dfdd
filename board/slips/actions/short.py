"""The short slip: after small corrections the other initials are carried (T11)."""

import json
from hashlib import sha256

from django.db import transaction

from accounts.models import Person
from board.books.models import Item
from board.books.rules import Standing
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import WrongMove
from board.light_table.models import Comparison
from board.light_table.queries import comparison_of
from board.permits import Act, Facet, Role
from board.revisions.models import Revision
from board.slips.actions.locked import Locked, carry, lock
from board.slips.models import Initial, Slip
from board.slips.rules.carrying import outside
from board.tissue.models import Note
from board.tissue.queries import sheet_of
from board.tissue.rules import Region, region_of


@transaction.atomic
def short_slip(*, by: Person, item: Item, event: str) -> Slip:
    """Carry every initial but the conditioners', if only listed places changed."""
    locked = lock(item, by=by, event=event, role=Role.ART_DIRECTOR)
    slip = locked.slip()
    if happened_already(locked.book.key, locked.event):
        return slip
    locked.require(Act.SHORT_SLIP)
    before = _taken_off(locked, slip)
    _stop(locked, slip, before)
    listed = _listed_regions(locked, before)
    carried = [initial for initial in before if not _conditions(initial)]
    proofs = {
        seen: _proof(locked, slip.revision, seen, listed)
        for seen in {initial.seen_sha256 for initial in carried}
    }
    for initial in carried:
        proof = proofs[initial.seen_sha256]
        carry(locked, initial, slip, event=f"short-{slip.key}", justified=proof)
    slip.short = True
    slip.save()
    page = locked.page(
        about_key=slip.key,
        checksum=slip.revision.sha256,
        details={"carried": [initial.facet for initial in carried]},
    )
    locked.enter(Happened.SHORT_SLIP, page)
    locked.settle()
    return slip


def _taken_off(locked: Locked, slip: Slip) -> list[Initial]:
    """Initials that this slip's send-up took off, clearance left out."""
    rows = Initial.objects.filter(
        slip__item=locked.item,
        slip__stage=locked.stage,
        slip__closed_at=slip.opened_at,
        ended_at=slip.opened_at,
    ).exclude(facet=Facet.CLEARANCE)
    return list(rows.select_related("person").prefetch_related("listed"))


def _conditions(initial: Initial) -> bool:
    return bool(initial.listed.all() or initial.listed_checks)


def _stop(locked: Locked, slip: Slip, before: list[Initial]) -> None:
    reasons = []
    if slip.left != Standing.OK_AS_CORRECTED or locked.standing is not Standing.HUNG:
        reasons.append(
            "A short slip comes directly after a revision that left OK as corrected."
        )
    live = Initial.objects.filter(slip=slip, ended_at=None)
    if live.exclude(facet=Facet.CLEARANCE).exists() or slip.short:
        reasons.append("Somebody has initialled this slip already; go on with it.")
    now = locked.slate().text_version
    depends = {Facet.STORY, Facet.WORDS, Facet.FIT}
    if any(one.text_version != now for one in before if Facet(one.facet) in depends):
        reasons.append("The words have changed since; everybody looks again.")
    if locked.item.holds.filter(released_at=None).exists():
        reasons.append("The item is held.")
    if reasons:
        raise WrongMove(" ".join(reasons), *reasons)


def _listed_regions(locked: Locked, before: list[Initial]) -> list[Region]:
    """Places that the conditioners listed."""
    notes = Note.objects.filter(listed_in__in=before).distinct()
    sheet = sheet_of(locked.item)
    regions = [region_of(note.mark, note.points, sheet) for note in notes]
    return [region for region in regions if region is not None]


def _proof(locked: Locked, now: Revision, seen: str, listed: list[Region]) -> str:
    """The digest of the change map seen -> now, when it lies in the listed places."""
    shown = locked.item.revisions.filter(sha256=seen, number__isnull=False).first()
    row = comparison_of(shown, now) if shown else None
    if row is None or row.work != Comparison.State.DONE:
        raise WrongMove(
            "The change map against what was initialled is not ready yet. Ask for it on "
            "the light table, then call the short slip."
        )
    regions = [
        Region(one["x"], one["y"], one["width"], one["height"]) for one in row.changes
    ]
    stray = outside(regions, listed, sheet_of(locked.item))
    if stray:
        raise WrongMove(
            f"{len(stray)} change(s) lie outside the listed places, so everybody looks "
            "again: the slip stays whole."
        )
    told = json.dumps([row.recipe, row.changes], sort_keys=True)
    return sha256(told.encode()).hexdigest()
