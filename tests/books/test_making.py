"""A book is made with its items; its settings change without surprises."""

from typing import Any

import pytest
from django.test import Client

from accounts.models import Person
from board.books.forms import BookForm, LengthField
from board.books.models import Book, ItemStage
from board.daybook.queries import broken_at, entries_of
from tests import make

pytestmark = pytest.mark.django_db
NEW = "/books/new/"
SENT: dict[str, Any] = {
    "title": "Seven Letters Before the Tide",
    "house": "Halfpenny Wharf Books",
    "unit": "in",
    "width": "10",
    "height": "10",
    "extent": "32",
    "ends": "self-ended",
    "preset": "house",
    "author_approves": "yes",
    "roles": ["editor"],
    "event": "event-of-the-form",
}


@pytest.fixture
def keeper(db: None) -> Person:
    person = make.person(name="Dov Castellane")
    person.keeps_house = True
    person.save()
    return person


def test_a_book_is_made_in_inches_with_the_houses_defaults(
    client: Client, keeper: Person
) -> None:
    client.force_login(keeper)
    answer = client.post(NEW, SENT)
    book = Book.objects.get()
    assert answer["Location"] == f"/books/{book.key}/"
    assert (book.trim_width_mm, book.trim_height_mm) == (254, 254)
    # house defaults: bleed 3 mm and safe margin 1/4 in (worzalla.site), gutter band
    # 3/8 in each side (common practice, no source)
    assert (book.bleed_mm, book.safe_mm, book.gutter_mm) == (3.0, 6.35, 9.525)
    assert book.items.filter(story=True).count() == 12
    assert ItemStage.objects.filter(item__book=book).count() == 4 * book.items.count()
    kinds = [entry.kind for entry in entries_of(book.key)]
    assert kinds == ["book made", "credit given"]
    assert broken_at(book.key) is None


def test_sending_the_form_twice_makes_one_book(client: Client, keeper: Person) -> None:
    client.force_login(keeper)
    first, second = client.post(NEW, SENT), client.post(NEW, SENT)
    assert first["Location"] == second["Location"]
    assert Book.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "length"),
    [
        ("254", 254),
        ("8.5", 8.5),
        ("8,5", 8.5),
        ("8 1/2", 8.5),
        ("8½", 8.5),
        ("8¼", 8.25),
        ("1/8", 0.125),
        ('10"', 10),
        ("", None),
    ],
)
def test_lengths_are_read_as_people_write_them(
    typed: str, length: float | None
) -> None:
    assert LengthField(required=False).clean(typed) == length


@pytest.mark.parametrize("typed", ["ten", "1/0", "8-9", "inf", "nan", "1e999", "0x10"])
def test_a_length_that_is_none_is_refused(client: Client, typed: str) -> None:
    form = BookForm(SENT | {"width": typed})
    assert not form.is_valid()
    assert "width" in form.errors


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        ({"title": ""}, "title"),
        ({"width": "1000"}, "width"),
        ({"unit": "mm", "width": "10"}, "width"),
        ({"extent": "30"}, "extent"),
        ({"bleed": "-1"}, "bleed"),
        ({"roles": []}, "roles"),
        ({"roles": ["designer"]}, "roles"),
        ({"roles": ["author"]}, "roles"),
        ({"roles": ["bookbinder"]}, "roles"),
    ],
)
def test_what_does_not_fit_is_named_and_nothing_is_made(
    client: Client, keeper: Person, wrong: dict[str, Any], name: str
) -> None:
    client.force_login(keeper)
    answer = client.post(NEW, SENT | wrong)
    assert answer.status_code == 422
    assert name in answer.context["form"].errors
    assert "Halfpenny Wharf Books" in answer.content.decode()
    assert not Book.objects.exists()


def test_in_a_small_studio_the_author_may_begin(client: Client, keeper: Person) -> None:
    client.force_login(keeper)
    answer = client.post(NEW, SENT | {"preset": "studio", "roles": ["author"]})
    assert answer.status_code == 302
    assert client.get(answer["Location"] + "people/").context["may_credit"]


def test_only_who_keeps_the_house_makes_books(client: Client) -> None:
    client.force_login(make.person())
    assert client.get(NEW).status_code == 403
    answer = client.post(NEW, SENT)
    assert answer.status_code == 403
    assert "Seven Letters" in answer.content.decode()  # nothing typed is lost
    assert not Book.objects.exists()


def settings_of(book: Book, **changed: Any) -> dict[str, Any]:
    sent = {
        "title": book.title,
        "house": book.house,
        "safe_mm": book.safe_mm,
        "gutter_mm": book.gutter_mm,
        "art_percent": book.art_percent,
        "words_a_minute": book.words_a_minute,
        "type_pt": book.type_pt,
        "leading_pt": book.leading_pt,
        "days_house": book.days_house,
        "days_author": book.days_author,
        "days_artist": book.days_artist,
        "days_corrections": book.days_corrections,
        "ppi_warn": book.ppi_warn,
        "ppi_stop": book.ppi_stop,
        "version": book.version,
    }
    return sent | changed


def test_settings_change_and_the_record_says_so(
    client: Client, book: Book, cast: Any
) -> None:
    client.force_login(cast.editor)
    sent = settings_of(book, title="رسائل", ppi_warn=120, ppi_stop=80)
    assert client.post(f"/books/{book.key}/", sent).status_code == 302
    book.refresh_from_db()
    assert (book.title, book.ppi_warn) == ("رسائل", 120)
    entry = entries_of(book.key).last()
    assert entry is not None
    assert entry.details["ppi_warn"] == ["300", "120"]
    stale = client.post(f"/books/{book.key}/", settings_of(book, version=1, title="X"))
    assert stale.status_code == 412
    assert "What you typed" in stale.content.decode()


def test_stations_are_no_plain_setting(client: Client, book: Book, cast: Any) -> None:
    client.force_login(cast.editor)
    sent = settings_of(book, author_approves="", notes_at_once="on", title="Y")
    assert client.post(f"/books/{book.key}/", sent).status_code == 302
    book.refresh_from_db()
    assert (book.title, book.author_approves, book.notes_at_once) == ("Y", True, False)


def test_the_others_read_settings_but_change_none(
    client: Client, book: Book, cast: Any
) -> None:
    may = {cast.editor, cast.art_director, cast.publisher}
    for person in cast.by_role().values():
        client.force_login(person)
        assert client.get(f"/books/{book.key}/").status_code == 200
        status = client.post(f"/books/{book.key}/", settings_of(book)).status_code
        assert status == (302 if person in may else 403)
    client.force_login(cast.stranger)
    assert client.get(f"/books/{book.key}/").status_code == 404
    assert client.post(f"/books/{book.key}/", settings_of(book)).status_code == 404
