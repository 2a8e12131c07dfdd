"""Finding people and the links that let them in."""

from datetime import UTC, datetime, timedelta

from django.core import signing
from django.db.models import Q
from django.utils.crypto import constant_time_compare

from accounts.models import Knock, Person, SignInLink
from accounts.rules import Door, Limit, token_hash

DEVICE = "board_device"


def person_by_address(email: str) -> Person | None:
    """The active person with this mail address."""
    found = Person.objects.filter(email__iexact=email.strip(), is_active=True)
    return found.first()


def way_in(token: str, *, now: datetime | None = None) -> SignInLink | None:
    """The link that this token opens now: not used, not run out, its person active."""
    moment = now or datetime.now(UTC)
    found = SignInLink.objects.select_related("person").filter(
        Q(used_at=None) | Q(many_times=True),
        token_hash=token_hash(token),
        expires_at__gt=moment,
        person__is_active=True,
    )
    return found.first()


def device_mark(person: Person) -> str:
    """What a browser keeps of who came in by it; a new password makes it worthless."""
    told = [person.key, person.get_session_auth_hash()]
    return signing.dumps(told, salt=DEVICE)


def is_own_device(mark: str, person: Person) -> bool:
    """Whether the mark of a browser says that this person came in by it before."""
    try:
        key, secret = signing.loads(mark, salt=DEVICE, max_age=timedelta(days=365))
    except (signing.BadSignature, TypeError, ValueError):
        return False
    same = constant_time_compare(secret, person.get_session_auth_hash())
    return bool(key == person.key and same)


def knocked_too_often(door: Door, who: str, limit: Limit, *, now: datetime) -> bool:
    """Whether somebody reached the limit of this door."""
    since = now - timedelta(minutes=limit.minutes)
    knocks = Knock.objects.filter(door=door.value, who=who, at__gt=since)
    return knocks.count() >= limit.times
