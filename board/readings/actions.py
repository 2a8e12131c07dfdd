"""Recording a reading."""

from dataclasses import asdict, dataclass
from datetime import datetime

from django.core import signing
from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book
from board.books.queries import roles_of
from board.daybook.actions import Page, enter, this_moment
from board.daybook.rules import Happened
from board.errors import NotUnderstood, WrongMove
from board.permits import Act, require
from board.readings.models import Reading
from board.readings.queries import shown_now
from board.readings.rules import LONGEST_S, SHORTEST_S, list_hash, minutes

SALT = "board.reading"


@dataclass(frozen=True)
class Begun:
    """A reading that has begun: who, when, on what."""

    person: str
    book: str
    at: float
    named: str


def begin_reading(*, by: Person, book: Book) -> str:
    """Start the clock; the signed word is handed back when the last page is turned."""
    require(Act.READ_THROUGH, roles_of(by, book))
    shown = shown_now(book)
    if not shown:
        raise WrongMove("No picture is up yet, so there is nothing to read.")
    begun = [by.key, book.key, this_moment().timestamp(), list_hash(shown)]
    return signing.dumps(begun, salt=SALT)


def _begun(word: str, by: Person, book: Book) -> Begun:
    try:
        begun = Begun(*signing.loads(word, salt=SALT))
    except (signing.BadSignature, TypeError, ValueError):
        raise NotUnderstood(
            "That reading was not begun here. Begin it again."
        ) from None
    if (begun.person, begun.book) != (by.key, book.key):
        raise NotUnderstood("That reading is another person's. Begin your own.")
    return begun


@transaction.atomic
def hold_reading(
    *, by: Person, book: Book, word: str, event: str, remark: str = ""
) -> Reading:
    """Record that the book was read through, timed, on exactly what is current.

    If a picture or the words changed meanwhile it does not count as read.
    """
    require(Act.READ_THROUGH, roles_of(by, book))
    if not 8 <= len(event) <= 40:
        raise NotUnderstood("Every write carries an event id of 8 to 40 characters.")
    book = Book.objects.select_for_update().get(pk=book.pk)
    sent = f"{by.key}:{event}"
    before = Reading.objects.filter(event=sent).first()
    if before:
        return before
    begun, now, shown = _begun(word, by, book), this_moment(), shown_now(book)
    seconds = now.timestamp() - begun.at
    if begun.named != list_hash(shown):
        raise WrongMove(
            "A picture or the words changed while you read. Read it once more, so that "
            "the record says what was really read."
        )
    if not SHORTEST_S <= seconds <= LONGEST_S:
        raise NotUnderstood(
            f"A reading takes between {SHORTEST_S} seconds and {LONGEST_S // 3600} "
            "hours. Begin it again when you sit down to read."
        )
    writer = hand(by, book, Act.READ_THROUGH)
    made = Reading.objects.create(
        book=book,
        by=by,
        role=writer.role,
        began_at=datetime.fromtimestamp(begun.at, now.tzinfo),
        ended_at=now,
        seconds=seconds,
        list_hash=begun.named,
        shown=[asdict(one) for one in shown],
        text_version=max(one.text_version for one in shown),
        remark=remark.strip()[:2000],
        event=sent,
    )
    page = Page(
        book.key,
        about_key=made.key,
        checksum=made.list_hash,
        text_version=made.text_version,
        details={"words": f"{minutes(seconds)}, {len(shown)} items"},
    )
    enter(Happened.READING_HELD, page, by=writer, event=sent)
    return made
