"""Sending what is due: claimed, written anew for its reader, handed to the mail server.

What SMTP cannot promise: between the server's word that it took a mail and our note of
it lies a moment. A worker killed within it sends that mail again, under the same
Message-ID, by which most mailboxes know the second copy; nothing is ever lost.
"""

import smtplib
from collections.abc import Iterable
from datetime import datetime
from email.utils import formatdate
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db.models import F, Q, QuerySet

from accounts.actions import sign_in_link
from accounts.models import Person
from board.daybook.actions import this_moment
from board.post.models import Outgoing
from board.post.queries import due_rows, last_digest, quiet_books, wanted_at_once
from board.post.queries import letters as words
from board.post.queries.letters import Letter
from board.post.rules import (
    LEASE,
    again_in,
    fingerprint,
    is_final_refusal,
    worth_sending,
)
from board.repro.leases import new_owner
from board.slips.queries.waiting import Waiting

SOLVED = "it waits no more"
SAID = "nothing new to say"
MOST_AT_A_TIME = 200


def send_due(now: datetime | None = None) -> int:
    """Send everything that is due and that no other worker holds; gives how many."""
    sent = 0
    owner = new_owner()
    for _ in range(MOST_AT_A_TIME):
        moment = now or this_moment()
        first = next(iter(due_rows(moment)[:1]), None)
        if first is None:
            break
        rows = _claim(first, owner, moment)
        if rows is not None and first.person.is_active:
            sent += _carry(first, rows, moment)
        elif rows is not None:
            _end(rows, moment, "this person does not come in any more")
    return sent


def _claim(first: Outgoing, owner: str, now: datetime) -> QuerySet[Outgoing] | None:
    """Hold everything that goes into the same mail; one UPDATE decides who has it."""
    same = Outgoing.objects.filter(
        Q(lease_until=None) | Q(lease_until__lt=now),
        person=first.person,
        kind=first.kind,
        book=first.book,
        sent_at=None,
        ended_at=None,
        due_at__lte=now,
    )
    if first.kind == Outgoing.Kind.DIGEST:
        same = same.filter(pk=first.pk)
    mark = f"{owner[:46]}:{first.key}"
    same.update(lease_owner=mark, lease_until=now + LEASE, attempts=F("attempts") + 1)
    mine = Outgoing.objects.filter(lease_owner=mark, sent_at=None, ended_at=None)
    return mine if mine.exists() else None


def _carry(first: Outgoing, rows: QuerySet[Outgoing], now: datetime) -> int:
    letter = _written(first, rows, now)
    if letter is None:
        return 0
    try:
        _hand_over(first.person, letter, _message_id(rows), now)
    except (OSError, smtplib.SMTPException) as problem:
        _failed(rows, problem, now)
        return 0
    print_now = fingerprint(letter.says)
    rows.update(sent_at=now, trouble="", told=print_now, lease_until=None)
    return 1


def _written(first: Outgoing, rows: QuerySet[Outgoing], now: datetime) -> Letter | None:
    """The mail as its reader may read it at this moment; None when nothing is left."""
    if first.kind == Outgoing.Kind.DIGEST:
        return _digest(first.person, rows, now)
    found = _still_wanted(first, rows, now)
    if not found:
        return None
    doors = {one.item.pk: _door(first.person, one, now) for one in found}
    return words.at_once(first.person, found, now, doors)


def _digest(person: Person, rows: QuerySet[Outgoing], now: datetime) -> Letter | None:
    letter = words.digest(person, now)
    if letter is None:
        _end(rows, now, SOLVED)
        return None
    last = last_digest(person)
    if last is not None and last.sent_at is not None:
        since = now - last.sent_at
        if not worth_sending(fingerprint(letter.says), last.told, since):
            _end(rows, now, SAID)
            return None
    return letter


def _still_wanted(
    first: Outgoing, rows: QuerySet[Outgoing], now: datetime
) -> list[Waiting]:
    """What of these still waits; the rest ends without a mail."""
    book = first.book
    if book is None or book.pk in quiet_books(first.person):
        _end(rows, now, "no mails about this book are wanted")
        return []
    wanted = wanted_at_once(first.person, book)
    left = set()
    for row in rows:
        if (row.item_id, row.want) in wanted:
            left.add((row.item_id, row.want))
        else:
            _end(rows.filter(pk=row.pk), now, SOLVED)
    return [one for key, one in wanted.items() if key in left]


def _door(person: Person, waiting: Waiting, now: datetime) -> str:
    """A way straight to the item, for this person on a device they came in by before."""
    then = words.item_path(waiting)
    way = sign_in_link(person, bound=True, now=now)
    return f"{way}?{urlencode({'next': then})}"


def _message_id(rows: QuerySet[Outgoing]) -> str:
    """The same name on every attempt, so that a second copy is known as one."""
    first = rows.order_by("pk").values_list("key", flat=True)[0]
    return f"<{first}@{host()}>"


def host() -> str:
    """The board's own name on the net."""
    return urlsplit(settings.BOARD_ADDRESS).hostname or "localhost"


def _hand_over(person: Person, letter: Letter, name: str, now: datetime) -> None:
    mail = EmailMultiAlternatives(
        letter.subject,
        letter.text,
        to=[person.email],
        headers={
            "Message-ID": name,
            "Date": formatdate(now.timestamp()),
            "Auto-Submitted": "auto-generated",  # RFC 3834
            "List-Unsubscribe": f"<{letter.off}>",  # RFC 2369
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",  # RFC 8058
        },
    )
    mail.attach_alternative(letter.html, "text/html")
    mail.send()


def _failed(rows: QuerySet[Outgoing], problem: Exception, now: datetime) -> None:
    """Try again later, or end when the address is refused or two days have passed."""
    trouble = " ".join(str(problem).split())[:280] or type(problem).__name__
    attempts = max(rows.values_list("attempts", flat=True), default=1)
    wait = None if _refused(problem) else again_in(attempts)
    if wait is None:
        rows.update(ended_at=now, trouble=trouble, lease_until=None)
    else:
        rows.update(
            due_at=now + wait, trouble=trouble, lease_until=None, lease_owner=""
        )


def _refused(problem: Exception) -> bool:
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        codes: Iterable[int] = (code for code, _ in problem.recipients.values())
        return all(is_final_refusal(code) for code in codes)
    if isinstance(problem, smtplib.SMTPResponseException):
        return is_final_refusal(problem.smtp_code)
    return False


def _end(rows: QuerySet[Outgoing], now: datetime, why: str) -> None:
    rows.update(ended_at=now, lease_until=None, told=why)
