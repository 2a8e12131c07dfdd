"""What a browser that keeps pages for reading without a line has to know."""

from collections import defaultdict

from accounts.models import Person
from board.books.models import Credit


def rights_of(person: Person) -> dict[str, str]:
    """The person's books by key, each with the credits held on it now, in words.

    A browser drops what it kept of a book when the words change or the book is gone.
    """
    held = Credit.objects.filter(person=person, ended_at=None)
    found = defaultdict(set)
    for book, role in held.values_list("book__key", "role"):
        found[book].add(role)
    return {book: ", ".join(sorted(roles)) for book, roles in found.items()}
