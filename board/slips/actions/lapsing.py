"""What takes a book slip off: another list, or an item that is not OK any more."""

from datetime import datetime

from board.books.models import Book
from board.books.rules import Stage
from board.daybook.actions import THE_BOARD, Page, enter
from board.daybook.rules import Happened
from board.slips.models import BookSlip
from board.slips.queries.book import items_stand, listing_of
from board.slips.rules.book import hash_of


def lapse_book_slips(book: Book, *, because: str, now: datetime) -> None:
    """Take off a book slip whose list or items are not what was initialled."""
    for slip in BookSlip.objects.filter(book=book, lapsed_at=None):
        stage = Stage(slip.stage)
        same = slip.list_hash == hash_of(listing_of(book, stage))
        if same and items_stand(book, stage):
            continue
        slip.lapsed_at, slip.lapsed_because = now, because[:200]
        slip.save()
        page = Page(book.key, stage=slip.stage, about_key=slip.key)
        enter(Happened.BOOK_SLIP_LAPSED, page, by=THE_BOARD, now=now)
