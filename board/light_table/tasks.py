"""Comparing a pair of laid pictures in the background."""

from django.db import transaction
from django_tasks import task

from board.books.rules import Stage
from board.light_table.actions import COMPARE
from board.light_table.models import Comparison
from board.light_table.rules import compares_colour
from board.repro import leases
from board.repro.changes import compare_kept
from board.repro.leases import Lease
from board.repro.sheets import sheet_rect
from board.revisions.queries import sheet_of


@task()
def compare_pair(key: str) -> str:
    """Make the comparison of this key, unless somebody does."""
    return leases.carry_out(Comparison, key, _compare)


def sweep() -> int:
    """Ring again for comparisons that wait or were let fall."""
    return leases.sweep(Comparison, COMPARE)


def _compare(lease: Lease) -> None:
    pair = ("before__item__book", "after__item__book")
    row: Comparison = lease.rows().select_related(*pair).get()
    if not compares_colour(Stage(row.before.stage), Stage(row.after.stage)):
        lease.finish(step="ready", changes=[])
        return
    lease.write(step="fetched")
    onto = f"{row.key}-change"
    rect = sheet_rect(sheet_of(row.after.item))
    changed = compare_kept(row.before.picture, row.after.picture, rect, onto=onto)
    with transaction.atomic():
        lease.finish(
            step="ready",
            changes=list(changed.regions),
            noise=round(changed.noise, 3),
            picture=onto,
        )
