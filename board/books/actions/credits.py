"""Bringing people onto a book, and off it."""

from collections.abc import Collection
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from accounts.actions import send, welcome
from accounts.models import Person
from accounts.rules import new_token, token_hash
from board.books.actions import hand, write_credit, writer
from board.books.models import Book, Credit, Invitation
from board.books.queries import invitation_of, roles_of
from board.books.rules import InvitationClosed
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, WrongMove
from board.permits import Act, Role, acting_roles, may, require

INVITATION_DAYS = 14
LONGEST_NAME = 120


@transaction.atomic
def give_credit(
    *, book: Book, person: Person, role: Role, by: Person, event: str = ""
) -> Credit:
    """Credit a person on the book; a credit they have already is given back."""
    require(Act.CREDIT_PEOPLE, roles_of(by, book))
    Book.objects.select_for_update().get(pk=book.pk)
    return write_credit(
        book, person, role, by=hand(by, book, Act.CREDIT_PEOPLE), event=event
    )


@transaction.atomic
def end_credit(credit: Credit, *, by: Person, event: str = "") -> None:
    """End a credit; pages, sockets and grants of the person close at once."""
    book = Book.objects.select_for_update().get(pk=credit.book_id)
    require(Act.CREDIT_PEOPLE, roles_of(by, book))
    live = Credit.objects.filter(pk=credit.pk, ended_at=None)
    if not live.exists():
        return
    by_whom = hand(by, book, Act.CREDIT_PEOPLE)
    others = book.credits.filter(ended_at=None).exclude(pk=credit.pk)
    left = [Role(role) for role in others.values_list("role", flat=True)]
    if not may(Act.CREDIT_PEOPLE, acting_roles(left, studio=book.is_studio)):
        raise WrongMove(
            "Nobody would be left who may invite people onto this book. "
            "Credit another editor, art director or publisher first."
        )
    live.update(ended_at=datetime.now(UTC))
    person = credit.person
    details = {"person": person.key, "role": credit.role}
    page = Page(book.key, about_key=credit.key, details=details)
    enter(Happened.CREDIT_ENDED, page, by=by_whom, event=event)


@transaction.atomic
def invite(
    *,
    book: Book,
    by: Person,
    email: str,
    roles: Collection[Role],
    name: str = "",
    event: str = "",
) -> Invitation:
    """Mail somebody an invitation onto the book; an older one of theirs is withdrawn."""
    require(Act.CREDIT_PEOPLE, roles_of(by, book))
    if not roles:
        raise NotUnderstood("An invitation needs at least one credit. Tick one.")
    Book.objects.select_for_update().get(pk=book.pk)
    done = happened_already(book.key, event)
    if done and done.kind == Happened.INVITED:
        return Invitation.objects.get(key=done.about_key)
    moment = datetime.now(UTC)
    still_open = book.invitations.filter(
        email__iexact=email, accepted_at=None, withdrawn_at=None
    )
    still_open.update(withdrawn_at=moment)
    token = new_token()
    made = Invitation.objects.create(
        book=book,
        email=email.strip().lower(),
        name=name.strip(),
        roles=[role.value for role in Role if role in roles],
        token_hash=token_hash(token),
        by=by,
        expires_at=moment + timedelta(days=INVITATION_DAYS),
    )
    page = Page(book.key, about_key=made.key, details={"roles": made.roles})
    by_whom = hand(by, book, Act.CREDIT_PEOPLE)
    enter(Happened.INVITED, page, by=by_whom, event=event)
    _mail_invitation(made, reverse("books:invitation", args=[token]))
    return made


def _mail_invitation(made: Invitation, path: str) -> None:
    credited = ", ".join(made.roles)
    send(
        to=made.email,
        subject=f"{made.by.name} invites you onto {made.book.title}",
        words=(
            f"Hello{' ' + made.name if made.name else ''},\n\n"
            f"{made.by.name} invites you onto the review board of the picture book "
            f"{made.book.title}, credited as {credited}.\n\n"
            f"Open this link and press the button there. It works once, until "
            f"{made.expires_at:%d %B %Y}:\n\n{settings.BOARD_ADDRESS}{path}\n\n"
            "If you do not know what this is about, leave it: nothing happens.\n"
        ),
    )


@transaction.atomic
def withdraw_invitation(invitation: Invitation, *, by: Person) -> None:
    """Take an invitation back; its link lets nobody in any more."""
    book = Book.objects.select_for_update().get(pk=invitation.book_id)
    require(Act.CREDIT_PEOPLE, roles_of(by, book))
    still_open = Invitation.objects.filter(
        pk=invitation.pk, accepted_at=None, withdrawn_at=None
    )
    if still_open.update(withdrawn_at=datetime.now(UTC)):
        page = Page(book.key, about_key=invitation.key)
        by_whom = hand(by, book, Act.CREDIT_PEOPLE)
        enter(Happened.INVITATION_WITHDRAWN, page, by=by_whom)


def plain(name: str) -> str:
    """Give a name on one line, without signs that cannot be seen."""
    return " ".join("".join(x if x.isprintable() else " " for x in name).split())


@transaction.atomic
def accept_invitation(token: str, *, name: str = "") -> Credit:
    """Bring the invited person onto the book; gives the first of their credits."""
    invitation = invitation_of(token)
    if invitation is None:
        raise InvitationClosed
    book = Book.objects.select_for_update().get(pk=invitation.book_id)
    taken = Invitation.objects.filter(pk=invitation.pk, accepted_at=None)
    if not taken.update(accepted_at=datetime.now(UTC)):
        raise InvitationClosed
    called = plain(name) or plain(invitation.name) or invitation.email.partition("@")[0]
    person = welcome(email=invitation.email, name=called[:LONGEST_NAME])
    if not person.is_active:
        raise InvitationClosed("This board does not let this address in any more.")
    roles = [Role(role) for role in invitation.roles]
    by = writer(person, roles[0])
    given = [write_credit(book, person, role, by=by) for role in roles]
    return given[0]
