"""What would be read now, and which readings were held on exactly that."""

from collections.abc import Sequence

from board.books.models import Book
from board.books.queries import newest_texts
from board.readings.models import Reading
from board.readings.rules import Shown, list_hash
from board.revisions.queries import currents


def shown_now(book: Book) -> list[Shown]:
    """Each item's current picture and text version, in page order."""
    up, texts = currents(book), newest_texts(book)
    found = []
    for item in book.items.filter(set_aside=False).order_by("position"):
        revision, text = up.get(item.pk), texts.get(item.key)
        if revision is not None:
            number = text.text.number if text else 0
            found.append(
                Shown(item.key, item.label, revision.stage, revision.sha256, number)
            )
    return found


def readings_of(book: Book) -> list[Reading]:
    """Readings, newest first."""
    return list(book.readings.select_related("by").order_by("-ended_at", "-pk"))


def readings_on(book: Book, shown: Sequence[Shown] | None = None) -> list[Reading]:
    """Readings held on exactly these pictures and words (on those of now if none)."""
    named = list_hash(shown_now(book) if shown is None else shown)
    return [one for one in readings_of(book) if one.list_hash == named]
