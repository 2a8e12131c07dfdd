"""Invitations bring people on, credits end at once."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoCaptureOnCommitCallbacks

from accounts.models import Person
from board.books.actions.credits import end_credit, give_credit
from board.books.models import Book, Credit, Invitation
from board.books.queries import books_for, credits_of
from board.daybook.models import NameInRecord
from board.daybook.queries import broken_at, entries_of
from board.errors import NotPermitted, WrongMove
from board.permits import Role
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db
SENT: dict[str, Any] = {
    "name": "Ágnes Őri-Ñáñez",
    "email": "Agnes@Example.org",
    "roles": ["designer", "production"],
}


@pytest.fixture
def invited(
    client: Client,
    book: Book,
    cast: Cast,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> str:
    """The path of a mailed invitation."""
    client.force_login(cast.editor)
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(f"/books/{book.key}/people/", SENT | {"event": "invite-1"})
    assert answer.status_code == 302
    found = re.search(r"http://localhost:8000(\S+)", str(mail.outbox[-1].body))
    assert found
    return found.group(1)


def test_an_invitation_makes_the_person_and_credits_them(
    invited: str, book: Book
) -> None:
    letter = mail.outbox[-1]
    assert letter.to == ["agnes@example.org"]
    assert "designer, production" in str(letter.body)
    guest = Client()
    page = guest.get(invited).content.decode()
    assert "Pell" in page
    assert "Ágnes Őri-Ñáñez" in page
    answer = guest.post(invited, {"name": "Ágnes Őri-Ñáñez"})
    assert answer["Location"] == f"/books/{book.key}/"
    assert guest.get(answer["Location"]).status_code == 200
    person = Person.objects.get(email="agnes@example.org")
    assert person.initials == "ÁŐÑ"
    assert credits_of(person, book) == {Role.DESIGNER, Role.PRODUCTION}
    assert NameInRecord.objects.filter(person_key=person.key).exists()
    assert broken_at(book.key) is None


def test_looking_does_not_take_an_invitation_up_and_it_works_once(invited: str) -> None:
    guest = Client()
    assert [guest.get(invited).status_code for _ in range(3)] == [200] * 3
    assert guest.post(invited, {"name": "A"}).status_code == 302
    other = Client()
    assert other.get(invited).status_code == 410
    assert other.post(invited, {"name": "B"}).status_code == 410
    assert other.get("/people/me/").status_code == 302


def test_an_invitation_of_somebody_known_opens_no_other_book_of_theirs(
    invited: str, book: Book
) -> None:
    known = make.person(email="agnes@example.org", name="Ágnes")
    other = make.book(title="Another")
    make.credit(on=other, who=known, role=Role.EDITOR)
    finder = Client()
    answer = finder.post(invited)
    assert answer["Location"].startswith("/people/sign-in/?next=")
    assert credits_of(known, book) == {Role.DESIGNER, Role.PRODUCTION}
    assert finder.get(f"/books/{other.key}/").status_code == 302
    at_home = Client()
    at_home.force_login(known)
    assert at_home.get(f"/books/{book.key}/").status_code == 200


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("N" * 300, "N" * 120),
        ("A\x00 \u202eB\r\nC", "A B C"),
        (" \x00 ", "Ágnes Őri-Ñáñez"),
    ],
)
def test_any_name_typed_at_an_invitation_lets_the_person_in(
    invited: str, typed: str, kept: str
) -> None:
    assert Client().post(invited, {"name": typed}).status_code == 302
    assert Person.objects.get(email="agnes@example.org").name == kept


def test_an_invitation_runs_out_and_can_be_withdrawn(
    client: Client, invited: str, book: Book
) -> None:
    later = timezone.now() - timedelta(seconds=1)
    Invitation.objects.update(expires_at=later)
    assert Client().post(invited).status_code == 410
    Invitation.objects.update(expires_at=timezone.now() + timedelta(days=1))
    key = Invitation.objects.get().key
    assert client.post(f"/books/invitations/{key}/withdraw/").status_code == 302
    assert Client().post(invited).status_code == 410
    assert not Person.objects.filter(email="agnes@example.org").exists()


def test_a_new_invitation_replaces_the_older_one(
    client: Client, invited: str, book: Book
) -> None:
    client.post(f"/books/{book.key}/people/", SENT | {"event": "invite-2"})
    assert Client().get(invited).status_code == 410
    assert Invitation.objects.filter(withdrawn_at=None).count() == 1


def test_sending_the_form_twice_invites_once(
    client: Client, invited: str, book: Book
) -> None:
    client.post(f"/books/{book.key}/people/", SENT | {"event": "invite-1"})
    assert Invitation.objects.count() == 1


def test_an_invitation_cannot_be_aimed_at_someone_who_is_put_out(
    invited: str, book: Book
) -> None:
    person = make.person(email="agnes@example.org")
    Person.objects.filter(pk=person.pk).update(is_active=False)
    assert Client().post(invited).status_code == 410
    assert not Credit.objects.filter(person=person).exists()


def test_somebody_on_the_book_is_credited_without_mail(
    client: Client, book: Book, cast: Cast
) -> None:
    client.force_login(cast.publisher)
    sent = {"name": "x", "email": cast.designer.email, "roles": ["production"]}
    client.post(f"/books/{book.key}/people/", sent)
    assert Role.PRODUCTION in credits_of(cast.designer, book)
    assert not mail.outbox


@pytest.mark.parametrize(
    "wrong", [{"roles": []}, {"roles": ["spy"]}, {"email": "no"}, {"name": ""}]
)
def test_an_invitation_that_does_not_fit_is_not_sent(
    client: Client, book: Book, cast: Cast, wrong: dict[str, Any]
) -> None:
    client.force_login(cast.editor)
    answer = client.post(f"/books/{book.key}/people/", SENT | wrong)
    assert answer.status_code == 422
    assert not Invitation.objects.exists()


def test_only_some_credits_bring_people_on_or_off(
    client: Client, book: Book, cast: Cast
) -> None:
    may = {cast.editor, cast.art_director, cast.publisher}
    credit = Credit.objects.get(book=book, person=cast.designer)
    end = f"/books/credits/{credit.key}/end/"
    for person in cast.by_role().values():
        client.force_login(person)
        page = client.get(f"/books/{book.key}/people/")
        assert page.status_code == 200
        assert (cast.designer.email in page.content.decode()) == (person in may)
        assert client.get(end).status_code == (200 if person in may else 403)
        status = client.post(f"/books/{book.key}/people/", {}).status_code
        assert status == (200 if person in may else 403)
    client.force_login(cast.stranger)
    assert client.get(f"/books/{book.key}/people/").status_code == 404
    assert client.get(end).status_code == 404
    assert client.post(end).status_code == 404
    with pytest.raises(NotPermitted):
        end_credit(credit, by=cast.author)


def test_a_credit_ends_at_once(book: Book, cast: Cast) -> None:
    watching = Client()
    watching.force_login(cast.author)
    assert watching.get(f"/books/{book.key}/").status_code == 200
    credit = Credit.objects.get(book=book, person=cast.author)
    end_credit(credit, by=cast.editor)
    assert watching.get(f"/books/{book.key}/").status_code == 404
    assert not books_for(cast.author)
    kinds = [entry.kind for entry in entries_of(book.key)]
    assert kinds[-1] == "credit ended"
    end_credit(credit, by=cast.editor)
    assert entries_of(book.key).filter(kind="credit ended").count() == 1


def test_the_last_who_may_invite_stays(book: Book, cast: Cast) -> None:
    for person in (cast.art_director, cast.publisher):
        end_credit(Credit.objects.get(book=book, person=person), by=cast.editor)
    with pytest.raises(WrongMove, match="Nobody would be left"):
        end_credit(Credit.objects.get(book=book, person=cast.editor), by=cast.editor)


def test_giving_a_credit_twice_gives_it_once(book: Book, cast: Cast) -> None:
    given = [
        give_credit(book=book, person=cast.stranger, role=Role.RIGHTS, by=cast.editor)
        for _ in range(2)
    ]
    assert given[0] == given[1]
    assert entries_of(book.key).filter(kind="credit given").count() == 1
