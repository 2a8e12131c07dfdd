"""Naming somebody who signs p.p., and ending that."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from accounts.models import Person
from board.books.actions import writer
from board.books.models import Book, Deputy
from board.books.queries import credits_of, roles_of
from board.daybook.actions import Page, enter, know, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotFound, NotPermitted, NotUnderstood
from board.permits import Act, Role, is_house, require

LONGEST = timedelta(days=366)


@dataclass(frozen=True)
class DeputyDraft:
    """Whose station, who signs there, from and until which day (both included)."""

    role: Role
    principal: Person
    person: Person
    first_day: date
    last_day: date


@transaction.atomic
def name_deputy(*, by: Person, book: Book, draft: DeputyDraft, event: str) -> Deputy:
    """Have somebody sign p.p.; the principal names her own deputy.

    The publisher may name one for anybody but author and rights, whose word is theirs
    alone (common practice, no source).
    """
    book = Book.objects.select_for_update().get(pk=book.pk)
    roles = roles_of(by, book)
    if not roles:
        raise NotFound
    require(Act.NAME_DEPUTY, roles)
    sent = happened_already(book.key, event)
    if sent and sent.kind == Happened.DEPUTY_NAMED:
        return Deputy.objects.get(key=sent.about_key)
    _may_name(by, roles, draft)
    _stop(book, draft)
    made = Deputy.objects.create(
        book=book,
        role=draft.role,
        principal=draft.principal,
        person=draft.person,
        named_by=by,
        named_at=this_moment(),
        first_day=draft.first_day,
        last_day=draft.last_day,
    )
    _enter(made, Happened.DEPUTY_NAMED, by=by, event=event)
    return made


def _may_name(by: Person, roles: frozenset[Role], draft: DeputyDraft) -> None:
    own = by.pk == draft.principal.pk
    kept = {Role.AUTHOR, Role.RIGHTS}
    if own or (Role.PUBLISHER in roles and draft.role not in kept):
        return
    raise NotPermitted(
        "Everybody names their own deputy; the publisher names one for anybody but the "
        "author and rights."
    )


def _stop(book: Book, draft: DeputyDraft) -> None:
    unmet = []
    theirs = credits_of(draft.person, book)
    if draft.role is Role.ILLUSTRATOR or draft.role not in credits_of(
        draft.principal, book
    ):
        unmet.append(f"Nobody of that name has the {draft.role.value} line here.")
    if draft.person.pk == draft.principal.pk:
        unmet.append("A deputy is somebody else.")
    if not theirs or Role.ILLUSTRATOR in theirs:
        unmet.append(
            "A deputy is credited on this book, and not as illustrator: nobody initials "
            "their own art for another."
        )
    elif draft.role is not Role.AUTHOR and not is_house(theirs):
        unmet.append("Only somebody of the house signs for the house.")
    if not draft.first_day <= draft.last_day <= draft.first_day + LONGEST:
        unmet.append("The days run forward, and for a year at the most.")
    if unmet:
        raise NotUnderstood(" ".join(unmet), *unmet)


@transaction.atomic
def end_deputy(*, by: Person, deputy: Deputy, event: str) -> Deputy:
    """End it now; what was signed p.p. stands, and its principal may pull it."""
    book = Book.objects.select_for_update().get(pk=deputy.book_id)
    deputy = Deputy.objects.select_for_update().get(pk=deputy.pk)
    if deputy.ended_at or happened_already(book.key, event):
        return deputy
    roles = roles_of(by, book)
    if by.pk not in {deputy.principal_id, deputy.person_id} and (
        Role.PUBLISHER not in roles
    ):
        raise NotPermitted(
            "The principal, the deputy or the publisher ends it, nobody else."
        )
    deputy.ended_at = this_moment()
    deputy.save()
    _enter(deputy, Happened.DEPUTY_ENDED, by=by, event=event)
    return deputy


def _enter(deputy: Deputy, happened: Happened, *, by: Person, event: str) -> None:
    for person in (deputy.person, deputy.principal):
        know(writer(person))
    told = {
        "role": deputy.role,
        "whose": deputy.person.key,
        "for": deputy.principal.key,
        "days": f"{deputy.first_day} to {deputy.last_day}",
    }
    page = Page(deputy.book.key, about_key=deputy.key, details=told)
    enter(happened, page, by=writer(by), event=event)
