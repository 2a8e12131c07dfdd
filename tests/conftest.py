"""The cast: one person per role, and a stranger."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.db.models.signals import post_migrate

from accounts.models import Person
from board.books.models import Book, Item
from board.permits import Role
from tests import make

daybook_stays = import_module("board.migrations.0002_daybook_stays")


def _guarded_again(**more: Any) -> None:
    """Put the daybook's trigger back once a flush has emptied the tables."""
    with connection.schema_editor() as editor:
        daybook_stays.guard(apps, editor)
    post_migrate.disconnect(_guarded_again)


@pytest.fixture(autouse=True)
def emptied_record(
    request: pytest.FixtureRequest, _django_db_marker: None
) -> Iterator[None]:
    """Let the flush after a test with real transactions empty the daybook too."""
    yield
    marker = request.node.get_closest_marker("django_db")
    by_mark = marker is not None and marker.kwargs.get("transaction")
    if not (by_mark or "transactional_db" in request.fixturenames):
        return
    with connection.schema_editor() as editor:
        daybook_stays.unguard(apps, editor)
    post_migrate.connect(_guarded_again, sender=apps.get_app_config("board"))


@dataclass(frozen=True)
class Cast:
    """Everybody on the book, and somebody who is not."""

    illustrator: Person
    author: Person
    editor: Person
    art_director: Person
    designer: Person
    production: Person
    rights: Person
    publisher: Person
    stranger: Person

    def by_role(self) -> dict[Role, Person]:
        return {role: getattr(self, role.name.lower()) for role in Role}


@pytest.fixture
def book(db: None) -> Book:
    return make.book()


@pytest.fixture
def cast(book: Book) -> Cast:
    people = {role.name.lower(): make.person(name=f"The {role.value}") for role in Role}
    for role in Role:
        make.credit(on=book, who=people[role.name.lower()], role=role)
    return Cast(**people, stranger=make.person(name="A Stranger"))


@pytest.fixture
def item(book: Book) -> Item:
    """The spread 8-9."""
    return book.items.get(label="8-9")
