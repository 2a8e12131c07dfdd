"""Searching a laid picture for a source, after everything that people wait for."""

from django.db import transaction
from django_tasks import task

from board.clippings.actions.searching import SEARCH, offer_found
from board.clippings.models import Search
from board.repro import leases
from board.repro.leases import AFTER_ALL_ELSE, Lease
from board.repro.seeking import seek_kept
from board.repro.sheets import sheet_rect
from board.revisions.queries import sheet_of


@task(priority=AFTER_ALL_ELSE)
def search_picture(key: str) -> str:
    """Do the search of this key, unless somebody does."""
    return leases.carry_out(Search, key, _search)


def sweep() -> int:
    """Ring again for searches that wait or were let fall."""
    return leases.sweep(Search, SEARCH)


def _search(lease: Lease) -> None:
    pair = ("photo__clipping__book", "revision__item__book")
    row: Search = lease.rows().select_related(*pair).get()
    rect = sheet_rect(sheet_of(row.revision.item))
    sought = seek_kept(row.photo.key, row.picture, rect)
    with transaction.atomic():
        if sought is not None:
            offer_found(row, sought)
        lease.finish(step="ready", found=sought is not None)
