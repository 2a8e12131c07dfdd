"""Stopping mails by one press, the private calendar, and ways in that a mail carries."""

import re
from datetime import UTC, date, datetime, timedelta
from urllib.parse import urlsplit

import pytest
from django.core import mail as outbox
from django.test import Client
from django.urls import reverse
from icalendar import Calendar
from pytest_django import DjangoCaptureOnCommitCallbacks

from accounts.actions import sign_in_link
from accounts.models import Person, SignInLink
from board.books.actions.credits import end_credit
from board.daybook.actions import replayed_at
from board.post.actions.wishes import make_feed
from board.post.models import CalendarFeed, Quiet, Wishes
from board.post.queries import off_token
from tests.conftest import Cast
from tests.post.conftest import Table

pytestmark = pytest.mark.django_db
ONE_CLICK = {"List-Unsubscribe": "One-Click"}  # the whole body, RFC 8058 3.2


def test_one_press_without_cookies_stops_a_books_mails(table: Table) -> None:
    who = table.cast.author
    address = reverse("post:off", args=[off_token(who, table.book)])
    bare = Client(enforce_csrf_checks=True)
    asked = bare.get(address).content.decode()
    assert "Stop these mails?" in asked
    assert who.email not in asked  # a mail handed on tells nobody's address
    assert not Quiet.objects.exists()  # a mail scanner only looks
    assert bare.post(address, ONE_CLICK).status_code == 200
    assert Quiet.objects.filter(person=who, book=table.book).exists()
    assert bare.post(address, {"act": "on"}).status_code == 200
    assert not Quiet.objects.exists()


def test_one_press_stops_the_digest_and_the_own_page_sets_it_on_again(
    client: Client, table: Table
) -> None:
    who = table.cast.editor
    address = reverse("post:off", args=[off_token(who, None)])
    client.post(address, ONE_CLICK)
    assert not Wishes.objects.get(person=who).digest
    client.force_login(who)
    told = {"act": "wishes", "digest": "on", "at_once": "on", "hour": "18"}
    assert client.post(reverse("post:own"), told).status_code == 302
    kept = Wishes.objects.get(person=who)
    assert (kept.digest, kept.hour) == (True, 18)


def test_an_address_that_was_tampered_with_stops_nothing(client: Client) -> None:
    assert client.post(reverse("post:off", args=["made:up:token"])).status_code == 404


def feed(client: Client, who: Person) -> str:
    """Make an address on the own page and give its path."""
    client.force_login(who)
    page = client.post(reverse("post:own"), {"act": "make_feed"}).content.decode()
    found = re.search(r"(/post/calendar/[\w-]+\.ics)", page)
    assert found
    return found[1]


def test_the_secret_is_shown_once_and_only_its_hash_is_kept(
    client: Client, table: Table
) -> None:
    path = feed(client, table.cast.designer)
    secret = path.rsplit("/", 1)[1].removesuffix(".ics")
    kept = CalendarFeed.objects.get()
    assert secret not in kept.token_hash
    assert secret not in client.get(reverse("post:own")).content.decode()
    assert Client().get(path).status_code == 200


def test_renewing_and_revoking_kill_the_old_address(
    client: Client, table: Table
) -> None:
    old = feed(client, table.cast.designer)
    new = feed(client, table.cast.designer)
    assert Client().get(old).status_code == 404
    assert Client().get(new).status_code == 200
    client.post(reverse("post:own"), {"act": "end_feed"})
    assert Client().get(new).status_code == 404


def test_the_calendar_keeps_to_the_standard(client: Client, table: Table) -> None:
    """RFC 5545: 3.1 lines, 3.4 and 3.6 components, 3.8.4.7 UID, 3.8.7.2 DTSTAMP."""
    table.book.title = "Sept lettres avant la marée, " * 6 + "سبع رسائل"
    table.book.save()
    body = Client().get(feed(client, table.cast.designer)).content
    assert body.endswith(b"\r\n")
    assert b"\n" not in body.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in body.split(b"\r\n"))
    read = Calendar.from_ical(body)
    assert (read["version"], str(read["prodid"])[:3]) == ("2.0", "-//")
    (event,) = read.walk("VEVENT")
    assert table.book.title in str(event["description"])
    assert event.decoded("dtstamp").tzinfo is not None
    assert re.search(rb"\r\nDTSTAMP:\d{8}T\d{6}Z\r\n", body)
    since = table.row.since
    assert since is not None
    assert event.decoded("dtstart") == (since + timedelta(days=10)).date()
    assert event.decoded("dtend") == event.decoded("dtstart") + timedelta(days=1)
    assert isinstance(event.decoded("dtstart"), date)
    again = Calendar.from_ical(Client().get(feed(client, table.cast.designer)).content)
    assert again.walk("VEVENT")[0]["uid"] == event["uid"]


def test_an_empty_calendar_still_holds_a_component(
    client: Client, table: Table
) -> None:
    """RFC 5545 3.6: icalbody is calprops and at least one component."""
    read = Calendar.from_ical(Client().get(feed(client, table.cast.publisher)).content)
    assert [one.name for one in read.subcomponents] == ["VTIMEZONE"]


def test_the_same_calendar_is_not_sent_twice(client: Client, table: Table) -> None:
    path = feed(client, table.cast.designer)
    first = Client().get(path)
    again = Client().get(path, headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    table.initial(table.cast.designer, "fit")
    changed = Client().get(path, headers={"if-none-match": first["ETag"]})
    assert changed.status_code == 200
    assert Client().head(path).status_code == 200


def test_the_calendar_dies_with_the_credit(client: Client, table: Table) -> None:
    who = table.cast.designer
    path = feed(client, who)
    end_credit(table.book.credits.get(person=who), by=table.cast.editor)
    assert Client().get(path).status_code == 404


def test_the_calendar_of_many_books_takes_the_same_few_queries(
    client: Client, table: Table, django_assert_max_num_queries: object
) -> None:
    path = f"/post/calendar/{make_feed(table.cast.designer)}.ics"
    with django_assert_max_num_queries(14):  # type: ignore[operator]  # pytest-django's
        client.get(path)


@pytest.fixture
def letter(table: Table) -> str:
    return reverse("viewing:letter", args=[table.item.key])


def bound(who: Person, then: str) -> str:
    return f"{sign_in_link(who, bound=True)}?next={then}"


def test_a_mails_link_opens_the_letter_on_a_device_used_before(
    cast: Cast, letter: str
) -> None:
    device = Client()
    device.post(sign_in_link(cast.author))  # once, some other day
    device.cookies.pop("sessionid")
    way = bound(cast.author, letter)
    page = device.get(way)
    assert cast.author.name in page.content.decode()
    assert SignInLink.objects.filter(
        bound=True, used_at=None
    ).exists()  # a look is free
    gone = device.post(urlsplit(way).path, {"next": letter})
    assert gone["Location"] == letter
    assert device.get(letter).status_code == 200
    device.cookies.pop("sessionid")
    assert "/people/sign-in/" in device.get(way)["Location"]  # it works once


def test_a_mail_that_was_handed_on_lets_nobody_in(
    cast: Cast,
    letter: str,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    """Whoever holds it may ask, but the fresh link goes to the author's own address."""
    way = bound(cast.author, letter)
    other = Client()
    other.post(sign_in_link(cast.editor))  # somebody else's device
    other.cookies.pop("sessionid")
    for stranger in (Client(), other):
        asked = stranger.get(way)
        assert asked["Location"].startswith("/people/sign-in/?next=")
        assert stranger.post(way)["Location"] == asked["Location"]
        assert "sessionid" not in stranger.cookies
    with django_capture_on_commit_callbacks(execute=True):
        sent = {"way": "link", "link-email": cast.author.email, "next": letter}
        Client().post(reverse("accounts:sign-in"), sent)
    (mail,) = outbox.outbox
    assert mail.to == [cast.author.email]
    assert f"next={letter.replace('/', '%2F')}" in mail.body


def test_a_new_password_and_signing_out_make_a_device_unknown(
    cast: Cast, letter: str
) -> None:
    device = Client()
    device.post(sign_in_link(cast.author))
    device.post(reverse("accounts:sign-out"))
    assert device.get(bound(cast.author, letter)).status_code == 302
    device.post(sign_in_link(cast.author))
    device.cookies.pop("sessionid")
    cast.author.set_password("a new one, thrice as long")
    cast.author.save()
    assert device.get(bound(cast.author, letter)).status_code == 302


def test_who_is_in_already_goes_straight_to_the_letter(
    client: Client, cast: Cast, letter: str
) -> None:
    client.force_login(cast.author)
    assert client.get(bound(cast.author, letter))["Location"] == letter
    assert SignInLink.objects.filter(used_at=None).exists()


def test_a_mails_link_is_good_for_two_weeks(cast: Cast, letter: str) -> None:
    device = Client()
    device.post(sign_in_link(cast.author))
    device.cookies.pop("sessionid")
    long_ago = datetime.now(UTC) - timedelta(days=15)
    with replayed_at(long_ago):
        way = sign_in_link(cast.author, bound=True, now=long_ago)
    assert device.get(f"{way}?next={letter}").status_code == 302
