"""Having laid pictures searched for the book's sources, in the background."""

from collections.abc import Iterable
from itertools import product

from django.db import transaction

from board.clippings.actions import Place, offer_use
from board.clippings.models import ClippingPhoto, Search
from board.clippings.queries.searching import lies_there_already, worth_searching
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.repro import leases
from board.repro.seeking import RECIPE, Sought
from board.revisions.models import Revision
from board.revisions.queries import is_laid

SEARCH = "board.clippings.tasks.search_picture"


def after_entry(entry: Entry) -> None:
    """Search what was laid, and search again when a source is photographed."""
    if entry.kind in {Happened.LAID, Happened.SENT_UP}:
        found = Revision.objects.filter(key=entry.about_key).select_related(
            "item__book"
        )
        for revision in found:
            photos = ClippingPhoto.objects.filter(clipping__book=revision.item.book)
            search([revision], photos)
    elif entry.kind == Happened.SOURCE_PHOTOGRAPHED:
        photos = ClippingPhoto.objects.filter(
            clipping__key=entry.about_key
        ).select_related("clipping__book")
        for photo in photos:
            search(worth_searching(photo.clipping.book), [photo])


@transaction.atomic
def search(revisions: Iterable[Revision], photos: Iterable[ClippingPhoto]) -> int:
    """Ask for each picture to be searched for each photograph; gives how many are new."""
    laid = [one for one in revisions if is_laid(one)]
    asked = 0
    for revision, photo in product(laid, list(photos)):
        row, new = Search.objects.get_or_create(
            photo=photo, revision=revision, picture=revision.picture, recipe=RECIPE
        )
        if new:
            leases.ring(SEARCH, row)
            asked += 1
    return asked


def offer_found(row: Search, sought: Sought) -> bool:
    """Offer what was found, unless it is known to lie there or was declined before."""
    source, revision = row.photo.clipping, row.revision
    if lies_there_already(source, revision, sought.on_sheet):
        return False
    place = Place(row.photo, sought.on_sheet, sought.on_photo)
    made = offer_use(source, revision, place, likeness=sought.likeness, recipe=RECIPE)
    return made is not None
