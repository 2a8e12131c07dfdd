"""Receipts: signed proof of what a person's screen showed."""

from dataclasses import dataclass

from django.core import signing

from accounts.models import Person
from board.books.models import Item
from board.books.queries import text_number_of
from board.errors import NotUnderstood
from board.revisions.models import Revision

SALT = "board.receipt"


@dataclass(frozen=True)
class Receipt:
    """Who was shown which picture and which words."""

    person: str
    item: str
    stage: str
    checksum: str
    text_version: int


def receipt_for(person: Person, item: Item, revision: Revision) -> str:
    """Sign what the page about to be drawn shows this person."""
    shown = [
        person.key,
        item.key,
        revision.stage,
        revision.sha256,
        text_number_of(item),
    ]
    return signing.dumps(shown, salt=SALT, compress=True)


def read_receipt(receipt: str, *, person: Person, item: Item) -> Receipt:
    """The receipt, if it is ours and was given to this person for this item.

    It does not grow old: what it shows is compared with what is current now.
    """
    try:
        found = Receipt(*signing.loads(receipt, salt=SALT))
    except (signing.BadSignature, TypeError, ValueError):
        raise NotUnderstood(
            "The proof of what your screen showed is damaged. Open the item again and "
            "initial there."
        ) from None
    if (found.person, found.item) != (person.key, item.key):
        raise NotUnderstood(
            "That proof belongs to another person or another item. Open this item "
            "again and initial there."
        )
    return found
