"""What people wish of their mails and calendars."""

from django.db import transaction

from accounts.models import Person
from accounts.rules import new_token, token_hash
from board.books.models import Book
from board.daybook.actions import this_moment
from board.post.models import CalendarFeed, Quiet, Wishes
from board.post.queries import wishes_of


def keep_wishes(person: Person, *, digest: bool, at_once: bool, hour: int) -> Wishes:
    """Keep which mails a person wants, and when."""
    wishes = wishes_of(person)
    wishes.digest, wishes.at_once, wishes.hour = digest, at_once, hour
    wishes.save()
    return wishes


def stop_mails(person: Person, book: Book | None) -> None:
    """Send nothing more about the book; without one, no digests."""
    if book is not None:
        Quiet.objects.get_or_create(person=person, book=book)
        return
    wishes = wishes_of(person)
    wishes.digest = False
    wishes.save()


def want_mails(person: Person, book: Book | None) -> None:
    """Send them again."""
    if book is not None:
        Quiet.objects.filter(person=person, book=book).delete()
        return
    wishes = wishes_of(person)
    wishes.digest = True
    wishes.save()


@transaction.atomic
def make_feed(person: Person) -> str:
    """Make a new private address for the person's calendar; an older one dies.

    Gives its secret, which is shown once: only the hash is kept.
    """
    end_feed(person)
    secret = new_token()
    CalendarFeed.objects.create(
        person=person, token_hash=token_hash(secret), made_at=this_moment()
    )
    return secret


def end_feed(person: Person) -> None:
    """Let the person's calendar address open nothing any more."""
    live = CalendarFeed.objects.filter(person=person, ended_at=None)
    live.update(ended_at=this_moment())
