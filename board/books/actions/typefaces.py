"""The face that words are measured with, when somebody asks whether they fit."""

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book, Typeface
from board.books.queries import roles_of
from board.daybook.actions import Page, enter, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.permits import Act, require
from board.repro.typefaces import Measured, measure_face


def measure_with(*, by: Person, book: Book, face: bytes, event: str = "") -> Typeface:
    """Keep the widths of a face's letters; no initial lapses by it."""
    require(Act.SET_TYPE, roles_of(by, book))
    measured = measure_face(face)  # read before anything is locked
    return _write(by, book, measured, event)


@transaction.atomic
def _write(by: Person, book: Book, measured: Measured, event: str) -> Typeface:
    kept = Book.objects.select_for_update().get(pk=book.pk)
    if happened_already(kept.key, event):
        return Typeface.objects.get(book=kept)
    made, _ = Typeface.objects.update_or_create(
        book=kept,
        defaults={
            "name": measured.name,
            "sha256": measured.sha256,
            "widths": measured.widths,
            "usual_width": measured.usual,
            "by": by,
            "at": this_moment(),
        },
    )
    page = Page(kept.key, checksum=measured.sha256, details={"words": measured.name})
    enter(Happened.TYPE_SET, page, by=hand(by, kept, Act.SET_TYPE), event=event)
    return made
