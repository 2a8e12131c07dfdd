"""Letting people in, and keeping what they say about themselves."""

import logging
import threading
from datetime import UTC, datetime, timedelta
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth import authenticate
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Q
from django.http import HttpResponse
from django.urls import reverse
from django.utils.crypto import salted_hmac

from accounts.models import Knock, Person, SignInLink
from accounts.queries import (
    DEVICE,
    device_mark,
    knocked_too_often,
    person_by_address,
    way_in,
)
from accounts.rules import (
    PER_ADDRESS,
    PER_PLACE,
    Door,
    TooOften,
    WayInClosed,
    initials_of,
    new_token,
    token_hash,
)

logger = logging.getLogger(__name__)

LONGEST_MEMORY = timedelta(days=1)
DEMO_LINK_DAYS = 30
BOUND_DAYS = 14


def sign_in_link(
    person: Person,
    *,
    many_times: bool = False,
    bound: bool = False,
    now: datetime | None = None,
) -> str:
    """Make a way in for the person and give its path; only its hash is kept.

    A link that works many times is a demo's alone; elsewhere it works once. A bound one
    goes into mails: it lives longer, but opens only where its person came in before.
    """
    moment = now or datetime.now(UTC)
    many_times = many_times and settings.BOARD_DEMO
    life = (
        timedelta(days=DEMO_LINK_DAYS)
        if many_times
        else timedelta(minutes=settings.BOARD_LINK_MINUTES)
    )
    if bound:
        life = timedelta(days=BOUND_DAYS)
    token = new_token()
    SignInLink.objects.filter(expires_at__lt=moment).delete()
    SignInLink.objects.create(
        person=person,
        token_hash=token_hash(token),
        expires_at=moment + life,
        many_times=many_times,
        bound=bound,
    )
    return reverse("accounts:come-in", args=[token])


def mail_way_in(
    email: str, *, place: str, then: str = "", now: datetime | None = None
) -> None:
    """Mail a one-time link if the address is somebody's; else do the same nothing."""
    moment = now or datetime.now(UTC)
    _knock(Door.LINK, email, place, now=moment)
    person = person_by_address(email)
    if person is None:
        return
    path = sign_in_link(person, now=moment)
    if then:
        path += "?" + urlencode({"next": then})
    send(
        to=person.email,
        subject=f"Your way in to {settings.BOARD_HOUSE}",
        words=(
            f"Hello {person.name},\n\n"
            f"open this link and press the button there to come in. It works once, "
            f"for {settings.BOARD_LINK_MINUTES} minutes:\n\n"
            f"{settings.BOARD_ADDRESS}{path}\n\n"
            "If you did not ask for it, leave it: nothing happens without you.\n"
        ),
    )


@transaction.atomic
def use_way_in(token: str, *, now: datetime | None = None) -> Person:
    """Let the person of this link in and use the link up."""
    moment = now or datetime.now(UTC)
    link = way_in(token, now=moment)
    if link is None:
        raise WayInClosed
    if not link.many_times:
        taken = SignInLink.objects.filter(pk=link.pk, used_at=None)
        if not taken.update(used_at=moment):
            raise WayInClosed
    return link.person


def remember_device(answer: HttpResponse, person: Person) -> None:
    """Have this browser know, for a year, that the person came in by it."""
    answer.set_cookie(
        DEVICE,
        device_mark(person),
        max_age=timedelta(days=365),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def check_password(
    email: str, password: str, *, place: str, now: datetime | None = None
) -> Person | None:
    """The person, if address and password fit; failures are counted."""
    moment = now or datetime.now(UTC)
    _refuse_too_often(Door.PASSWORD, email, place, now=moment)
    person = authenticate(username=email, password=password)
    if isinstance(person, Person):
        return person
    _count(Door.PASSWORD, email, place, now=moment)
    return None


def welcome(*, email: str, name: str) -> Person:
    """The person with this address; made, if the board does not know them yet."""
    known = Person.objects.filter(email__iexact=email.strip()).first()
    return known or Person.objects.create_person(email=email.strip(), name=name)


@transaction.atomic
def ensure_first_person(*, name: str, email: str) -> Person:
    """Somebody who may make books and look after the board."""
    person = welcome(email=email, name=name)
    person.keeps_house = True
    person.is_active = True
    person.save(update_fields=["keeps_house", "is_active"])
    return person


def tell_about_self(
    person: Person, *, name: str, initials: str, time_zone: str
) -> Person:
    """Keep what a person says about themselves."""
    person.name = name
    person.initials = initials.upper() or initials_of(name)
    person.time_zone = time_zone
    person.save(update_fields=["name", "initials", "time_zone"])
    return person


def choose_password(person: Person, password: str) -> None:
    """Set the person's password; every other open session of theirs ends."""
    person.set_password(password)
    person.save(update_fields=["password"])


def send(*, to: str, subject: str, words: str) -> None:
    """Send a letter after the transaction, without keeping anybody waiting.

    How long a mail server takes must not tell whether an address is known here.
    """
    letter = EmailMessage(" ".join(subject.split()), words, to=[to])
    transaction.on_commit(lambda: _send_soon(letter))


def _send_soon(letter: EmailMessage) -> None:
    if settings.EMAIL_BACKEND.endswith("smtp.EmailBackend"):
        threading.Thread(target=_send_now, args=[letter], daemon=True).start()
    else:
        _send_now(letter)


def _send_now(letter: EmailMessage) -> None:
    try:
        letter.send()
    except OSError as problem:  # the net or the mail server; smtplib's errors too
        logger.error("A letter (%s) could not be sent: %s", letter.subject, problem)


def _knock(door: Door, address: str, place: str, *, now: datetime) -> None:
    _refuse_too_often(door, address, place, now=now)
    _count(door, address, place, now=now)


def _refuse_too_often(door: Door, address: str, place: str, *, now: datetime) -> None:
    for who, limit in (
        (_who(address), PER_ADDRESS[door]),
        (_who(place), PER_PLACE[door]),
    ):
        if knocked_too_often(door, who, limit, now=now):
            other = (
                "use your password"
                if door is Door.LINK
                else "ask for a mailed link instead"
            )
            raise TooOften(
                f"That was tried {limit.times} times within {limit.minutes} minutes. "
                f"Wait {limit.minutes} minutes, or {other}."
            )


def _count(door: Door, address: str, place: str, *, now: datetime) -> None:
    Knock.objects.filter(Q(at__lt=now - LONGEST_MEMORY)).delete()
    Knock.objects.bulk_create(
        Knock(door=door.value, who=_who(name), at=now) for name in (address, place)
    )


def _who(name: str) -> str:
    bare = name.strip().lower()
    return salted_hmac("accounts.knock", bare, algorithm="sha256").hexdigest()
