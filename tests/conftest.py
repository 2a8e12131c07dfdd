"""The cast: one person per role, and a stranger."""

from dataclasses import dataclass

import pytest

from accounts.models import Person
from board.books.models import Book, Item
from board.permits import Role
from tests import make


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
