"""Deciding what is mailed: rows first, so that a killed worker loses nothing."""

from datetime import datetime, timedelta

from django.db import IntegrityError, transaction

from accounts.models import Person
from board.books.models import Book
from board.books.queries import people_on
from board.daybook.actions import this_moment
from board.daybook.queries import entries_of
from board.post.models import Asked, Outgoing, Reached
from board.post.queries import (
    Wanted,
    books_to_look_at,
    digests_due,
    last_entry_on,
    quiet_books,
    want_name,
    wanted_at_once,
    wishes_of,
)
from board.post.rules import SETTLE
from board.slips.queries.waiting import Waiting

KEPT_DAYS = 90


def look_round(now: datetime | None = None) -> int:
    """Make rows for what is new since the last look and for digests; gives how many."""
    moment = now or this_moment()
    made = sum(look_at_book(book, moment) for book in books_to_look_at())
    for person, day in digests_due(moment):
        made += _make(person, Outgoing.Kind.DIGEST, day.isoformat(), moment)
    old = Outgoing.objects.filter(made_at__lt=moment - timedelta(days=KEPT_DAYS))
    old.exclude(sent_at=None, ended_at=None).delete()
    return made


@transaction.atomic
def look_at_book(book: Book, now: datetime) -> int:
    """Compare what each person alone can unblock now with what it was before.

    A book that is seen for the first time is only learnt: what waited there already is
    not mailed all at once.
    """
    place, new = Reached.objects.select_for_update().get_or_create(book=book)
    last = entries_of(book.key).last()
    place.number = last.number if last else 0
    place.save()
    made = 0
    for person in people_on(book):
        for waiting in _news(person, book):
            if not new:
                made += _mail_at_once(person, waiting, now)
    gone = Asked.objects.filter(item__book=book)
    gone.exclude(person__in=people_on(book)).delete()
    return made


def _news(person: Person, book: Book) -> list[Waiting]:
    """What waits for the person now and did not at the last look."""
    wanted = wanted_at_once(person, book)
    known: set[Wanted] = set()
    for row in Asked.objects.filter(person=person, item__book=book):
        if (row.item_id, row.want) in wanted:
            known.add((row.item_id, row.want))
        else:
            row.delete()
    fresh = [key for key in wanted if key not in known]
    Asked.objects.bulk_create(
        Asked(person=person, item_id=item, want=want) for item, want in fresh
    )
    return [wanted[key] for key in fresh]


def _mail_at_once(person: Person, waiting: Waiting, now: datetime) -> int:
    if not person.is_active or not wishes_of(person).at_once:
        return 0
    if waiting.book.pk in quiet_books(person):
        return 0
    event = f"{waiting.book.key}:{last_entry_on(waiting.item)}"
    return _make(person, Outgoing.Kind.AT_ONCE, event, now, waiting)


def _make(
    person: Person, kind: str, event: str, now: datetime, waiting: Waiting | None = None
) -> int:
    """Write the row, once for each event; two lookers at a time make one."""
    row = Outgoing(person=person, kind=kind, event=event, made_at=now, due_at=now)
    if waiting is not None:
        row.book, row.item = waiting.book, waiting.item
        row.want, row.due_at = want_name(waiting), now + SETTLE
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        return 0
    return 1
