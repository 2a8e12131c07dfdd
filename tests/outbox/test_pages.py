"""What the pages and the worker of the outbox tell, and to whom."""

import json
import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import Person
from board.books.models import Book
from board.outbox.queries import rights_of
from board.permits import Role
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db


def client_of(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def test_rights_name_the_person_and_only_their_own_books(
    cast: Cast, book: Book
) -> None:
    make.book(title="Somebody else's")
    told = client_of(cast.editor).get(reverse("outbox:rights")).json()
    assert told == {"person": cast.editor.key, "books": {book.key: "editor"}}


def test_rights_change_with_every_credit_and_go_with_the_last(
    cast: Cast, book: Book
) -> None:
    make.credit(on=book, who=cast.editor, role=Role.PUBLISHER)
    assert rights_of(cast.editor) == {book.key: "editor, publisher"}
    book.credits.filter(person=cast.editor).update(ended_at="2026-03-02T09:00:00Z")
    assert rights_of(cast.editor) == {}


def test_nobody_signed_in_has_no_name_and_no_books() -> None:
    told = Client().get(reverse("outbox:rights"))
    assert told.json() == {"person": "", "books": {}}
    assert "csrftoken" in told.cookies  # from browsers that do not say what they fetch


@pytest.mark.parametrize("path", ["outbox:rights", "desk:desk"])
def test_what_is_fetched_aside_leaves_an_open_form_its_key(path: str) -> None:
    """Else the way in, opened while a worker fetches, would be refused."""
    address = reverse(path)
    aside = {"Sec-Fetch-Mode": "cors"}
    assert "csrftoken" not in Client().get(address, headers=aside, follow=True).cookies
    door = reverse("accounts:sign-in")
    opened = Client().get(door, headers={"Sec-Fetch-Mode": "navigate"})
    assert "csrftoken" in opened.cookies


def test_who_is_in_gets_a_key_from_what_is_fetched_aside(cast: Cast) -> None:
    client = client_of(cast.author)
    told = client.get(reverse("outbox:rights"), headers={"Sec-Fetch-Mode": "cors"})
    assert "csrftoken" in told.cookies


def test_the_worker_stands_at_the_root_and_imports_by_address() -> None:
    answer = Client().get("/worker.js")
    text = answer.content.decode()
    assert answer["Content-Type"] == "text/javascript"
    assert answer["Cache-Control"] == "no-cache"
    assert re.match(r"// [0-9a-f]{16}\n", text)
    assert 'from "#' not in text
    assert 'from "/static/js/lib/pocket' in text
    # Its own policy lets it fetch from the board and from nowhere else.
    assert "connect-src 'self'" in answer["Content-Security-Policy"]


def test_what_the_worker_imports_imports_nothing_by_bare_name() -> None:
    """No import map reaches a worker."""
    text = Client().get("/worker.js").content.decode()
    from django.contrib.staticfiles.finders import find  # noqa: PLC0415

    for path in re.findall(r'from "/static/([^"]+)"', text):
        found = find(re.sub(r"\.[0-9a-f]{12}\.js$", ".js", path))
        assert found, path
        text = Path(str(found)).read_text("utf-8")
        assert "from " not in re.sub(r"(?s)/\*.*?\*/", "", text)


def test_a_page_of_one_person_does_nothing_as_another(cast: Cast, book: Book) -> None:
    client = client_of(cast.editor)
    address = reverse("outbox:rights")
    same = client.get(address, headers={"Board-Person": cast.editor.key})
    assert same.status_code == 200
    other = client.get(address, headers={"Board-Person": cast.author.key})
    assert other.status_code == 401
    assert "Somebody else" in other.content.decode()


def test_signing_out_tells_the_browser_to_drop_its_pictures(cast: Cast) -> None:
    answer = client_of(cast.author).post(reverse("accounts:sign-out"))
    # W3C Clear Site Data, section 3: directives are quoted strings; "storage" would
    # take the outbox with it.
    assert json.loads(f"[{answer['Clear-Site-Data']}]") == ["cache"]
