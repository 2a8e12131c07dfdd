"""A person's due days as a calendar (RFC 5545), by a private address."""

from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse
from icalendar import Calendar, Event, Timezone, TimezoneStandard

from accounts.models import Person
from accounts.rules import token_hash
from board.books.models import Credit
from board.post.models import CalendarFeed
from board.post.queries import want_name
from board.slips.queries.waiting import Waiting, waiting_for

PRODUCT = "-//Sheet and Slip//Due days//EN"


def feed_of(person: Person) -> CalendarFeed | None:
    """The person's live calendar address."""
    return CalendarFeed.objects.filter(person=person, ended_at=None).first()


def reader_of_feed(secret: str) -> Person | None:
    """Whose calendar this secret opens: active, and still on some book."""
    feed = (
        CalendarFeed.objects.select_related("person")
        .filter(token_hash=token_hash(secret), ended_at=None, person__is_active=True)
        .first()
    )
    if feed is None:
        return None
    live = Credit.objects.filter(person=feed.person, ended_at=None)
    return feed.person if live.exists() else None


def calendar_of(person: Person) -> bytes:
    """What is wanted of this person by a day, as far as the desk tells it.

    No note, no picture; the same things give the same bytes.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", f"{settings.BOARD_HOUSE}: due days")  # RFC 7986
    calendar.add("refresh-interval", timedelta(hours=1), {"value": "DURATION"})
    wanted = [one for one in waiting_for(person) if one.due is not None]
    for waiting in wanted:
        calendar.add_component(_event(waiting))
    if not wanted:
        calendar.add_component(_utc())  # a calendar holds a component at least
    return bytes(calendar.to_ical())


def _event(waiting: Waiting) -> Event:
    item, book = waiting.item, waiting.book
    event = Event()
    host = urlsplit(settings.BOARD_ADDRESS).hostname or "localhost"
    name = want_name(waiting).replace(":", "-").lower()
    since = (waiting.since or datetime(2000, 1, 1, tzinfo=UTC)).astimezone(UTC)
    event.add("uid", f"{item.key}-{waiting.stage}-{name}@{host}")
    event.add("dtstamp", since.replace(microsecond=0))
    event.add("dtstart", waiting.due)
    event.add("dtend", waiting.due + timedelta(days=1) if waiting.due else None)
    event.add("summary", f"{item.label}, {waiting.stage}: {waiting.why}")
    event.add("description", f"{book.title}. A day that passes makes no initial.")
    path = reverse("viewing:item", args=[item.key])
    event.add("url", settings.BOARD_ADDRESS + path)
    event.add("transp", "TRANSPARENT")
    event.add("class", "PRIVATE")
    return event


def _utc() -> Timezone:
    """An unseen component for a calendar in which nothing is due."""
    zone, standard = Timezone(), TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  # RFC 5545: local
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone.add_component(standard)
    return zone
