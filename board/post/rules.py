"""What is mailed at once, what waits for the digest, and when a mail is tried again."""

import hashlib
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from enum import StrEnum

from board.slips.rules.wants import Kind, Want


class When(StrEnum):
    """How soon somebody is told of what waits for them."""

    AT_ONCE = "at once"
    AT_ONCE_IF_LAST = "at once when nothing else is missing"
    IN_DIGEST = "in the digest"


# What only this person can unblock comes at once; common practice, no source.
TOLD: dict[Kind, When] = {
    Kind.LINES: When.AT_ONCE,  # a note sheet went out to the illustrator
    Kind.CORRECTIONS: When.AT_ONCE,  # so did a short one
    Kind.PASS_ON: When.AT_ONCE,  # no sheet leaves before the editor passes it on
    Kind.QUERY: When.AT_ONCE,  # somebody asked about their facet
    Kind.INITIAL: When.AT_ONCE_IF_LAST,  # theirs is the last missing line
    Kind.LOOK: When.AT_ONCE_IF_LAST,
    Kind.REVISION: When.IN_DIGEST,
    Kind.PAIR: When.IN_DIGEST,
    Kind.SHEET: When.IN_DIGEST,
    Kind.SOURCE: When.IN_DIGEST,
}

USUAL_HOUR = 7
SETTLE = timedelta(minutes=5)  # people correct themselves; what is undone is not sent
LEASE = timedelta(minutes=5)
APART = timedelta(hours=20)  # who flies west gets no second digest that day
AGAIN_AFTER = timedelta(days=7)
BACKOFF_MIN = (1, 5, 15, 60, 240, 720, 1440)
MOST_LINES = 40


def at_once(want: Want) -> bool:
    """Whether it is mailed by itself, not left to the next digest."""
    when = TOLD[want.kind]
    return when is When.AT_ONCE or (when is When.AT_ONCE_IF_LAST and want.last)


def again_in(attempts: int) -> timedelta | None:
    """How long to wait after so many failed attempts; None gives up, after two days."""
    if attempts > len(BACKOFF_MIN):
        return None
    return timedelta(minutes=BACKOFF_MIN[max(attempts, 1) - 1])


def digest_day(local: datetime, *, hour: int, last: datetime | None) -> date | None:
    """The day a digest is due for, by the reader's clock; None while it is not."""
    if local.hour < hour or (last is not None and local - last < APART):
        return None
    return local.date()


def worth_sending(print_now: str, print_then: str, since_then: timedelta) -> bool:
    """A digest goes out when it says something new, and once a week when it does not."""
    return print_now != print_then or since_then >= AGAIN_AFTER


def fingerprint(lines: Iterable[str]) -> str:
    """Name what a digest says, so that it is not said twice."""
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def is_final_refusal(code: int) -> bool:
    """Whether a mail server said no for good (RFC 5321 4.2.1: 5yz, but 53x is ours).

    530, 534, 535 and 538 speak of our own sign-in at the server, not of the address.
    """
    return 500 <= code < 600 and code not in {530, 534, 535, 538}


def hidden_address(email: str) -> str:
    """A mail address that its owner knows again and nobody else learns."""
    name, _, host = email.partition("@")
    return f"{name[:1]}…@{host}"
