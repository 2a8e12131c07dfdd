"""Coming in: one-time links, passwords, and no trying for ever."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from accounts.actions import ensure_first_person, sign_in_link
from accounts.models import Knock, Person, SignInLink
from accounts.rules import token_hash
from tests import make

pytestmark = pytest.mark.django_db
SIGN_IN = "/people/sign-in/"


def ask(client: Client, address: str, **more: str) -> int:
    sent = {"way": "link", "link-email": address} | more
    return client.post(SIGN_IN, sent).status_code


def is_in(client: Client) -> bool:
    return client.get("/people/me/").status_code == 200


def without_chance(page: str) -> str:
    return re.sub(r'nonce="[^"]*"', "", page)


def mailed_path() -> str:
    found = re.search(r"http://localhost:8000(\S+)", str(mail.outbox[-1].body))
    assert found
    return found.group(1)


def test_a_mailed_link_lets_its_person_in_once(
    client: Client, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    make.person(email="tov@example.org", name="Tamsin Okoro-Vale")
    with django_capture_on_commit_callbacks(execute=True):
        assert ask(client, "TOV@Example.org") == 302
    path = mailed_path()
    assert "Tamsin" in client.get(path).content.decode()
    assert client.post(path).status_code == 302
    assert is_in(client)
    other = Client()
    assert other.post(path).status_code == 410
    assert not is_in(other)


def test_looking_at_a_link_does_not_use_it_up(client: Client) -> None:
    path = sign_in_link(make.person())
    for _ in range(3):
        assert client.get(path).status_code == 200
        assert client.head(path).status_code in {200, 405}
    assert not is_in(client)
    assert client.post(path).status_code == 302


def test_a_link_runs_out(client: Client, settings: Settings) -> None:
    long_ago = timezone.now() - timedelta(
        minutes=settings.BOARD_LINK_MINUTES, seconds=1
    )
    path = sign_in_link(make.person(), now=long_ago)
    answer = client.get(path)
    assert answer.status_code == 410
    assert "Ask for a new one" in answer.content.decode()


def test_only_the_hash_of_a_token_is_kept() -> None:
    path = sign_in_link(make.person())
    token = path.rstrip("/").rpartition("/")[2]
    link = SignInLink.objects.get()
    assert link.token_hash == token_hash(token)
    assert token not in str(vars(link))


def test_a_link_for_many_times_exists_in_a_demo_alone(settings: Settings) -> None:
    person = make.person()
    settings.BOARD_DEMO = False
    path = sign_in_link(person, many_times=True)
    assert Client().post(path).status_code == 302
    assert Client().post(path).status_code == 410
    settings.BOARD_DEMO = True
    path = sign_in_link(person, many_times=True)
    assert [Client().post(path).status_code for _ in range(3)] == [302, 302, 302]


def test_nobody_learns_whether_an_address_is_known(
    client: Client, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    make.person(email="known@example.org")
    with django_capture_on_commit_callbacks(execute=True):
        answers = [
            client.post(SIGN_IN, {"way": "link", "link-email": address}, follow=True)
            for address in ("known@example.org", "unknown@example.org")
        ]
    pages = [without_chance(answer.content.decode()) for answer in answers]
    assert pages[0] == pages[1]
    assert [letter.to for letter in mail.outbox] == [["known@example.org"]]


def test_asking_has_a_limit_for_an_address_known_or_not(client: Client) -> None:
    make.person(email="known@example.org")
    for address in ("known@example.org", "unknown@example.org"):
        answers = [ask(client, address) for _ in range(6)]
        assert answers == [302] * 5 + [429]


def test_asking_has_a_limit_for_a_place(client: Client) -> None:
    answers = [ask(client, f"person{n}@example.org") for n in range(31)]
    assert answers[-2:] == [302, 429]
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    assert ask(elsewhere, "another@example.org") == 302


def test_the_limit_keeps_neither_mail_nor_network_addresses(client: Client) -> None:
    ask(client, "known@example.org")
    kept = str(list(Knock.objects.values()))
    assert "known" not in kept
    assert "127.0.0.1" not in kept


def test_a_password_lets_in_and_too_many_wrong_ones_do_not(client: Client) -> None:
    Person.objects.create_person(
        email="dc@example.org", name="Dov", password="tide and letters"
    )
    sent = {"way": "password", "door-email": "dc@example.org"}
    answer = client.post(SIGN_IN, sent | {"door-password": "wrong"})
    assert answer.status_code == 422
    assert "do not fit together" in answer.content.decode()
    right = sent | {"door-password": "tide and letters"}
    assert Client().post(SIGN_IN, right).status_code == 302
    for _ in range(9):
        client.post(SIGN_IN, sent | {"door-password": "wrong"})
    assert client.post(SIGN_IN, right).status_code == 429


def test_signing_in_gives_the_session_a_new_key(client: Client) -> None:
    client.get("/people/sign-in/")
    session = client.session
    session["seen"] = True
    session.save()
    before = session.session_key
    client.post(sign_in_link(make.person()))
    assert client.session.session_key != before


def test_an_inactive_person_is_out_at_once_and_stays_out(client: Client) -> None:
    person = make.person()
    waiting = sign_in_link(person)
    client.post(sign_in_link(person))
    assert is_in(client)
    Person.objects.filter(pk=person.pk).update(is_active=False)
    assert not is_in(client)
    assert client.post(waiting).status_code == 410


@pytest.mark.parametrize(
    ("then", "goes"),
    [
        ("/books/new/", "/books/new/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
    ],
)
def test_the_way_on_leads_inside_the_board(
    client: Client, then: str, goes: str
) -> None:
    answer = client.post(sign_in_link(make.person()), {"next": then})
    assert answer["Location"] == goes


def test_signing_out_needs_a_post_and_ends_the_session(client: Client) -> None:
    client.force_login(make.person())
    assert client.get("/people/sign-out/").status_code == 405
    assert client.post("/people/sign-out/").status_code == 302
    assert not is_in(client)


def test_the_first_person_may_make_books() -> None:
    first = ensure_first_person(name="Dov Castellane", email="DC@example.org")
    assert first.keeps_house
    again = ensure_first_person(name="Somebody", email="dc@example.org")
    assert again == first
    assert again.name == "Dov Castellane"
