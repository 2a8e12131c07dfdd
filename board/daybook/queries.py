"""Reading the record."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import Max, QuerySet

from board.daybook.models import Entry, NameInRecord
from board.daybook.rules import CHAINED, first_break


def entries_of(book_key: str) -> QuerySet[Entry]:
    """The book's entries, oldest first."""
    return Entry.objects.filter(book_key=book_key).order_by("number")


def head_of(book_key: str) -> int:
    """The number of the book's last entry; 0 before the first."""
    return tops([book_key]).get(book_key, 0)


def tops(book_keys: Iterable[str]) -> dict[str, int]:
    """The number of each book's last entry, in one query."""
    rows = Entry.objects.filter(book_key__in=list(book_keys)).values("book_key")
    found = rows.order_by("book_key").annotate(top=Max("number"))
    return dict(found.values_list("book_key", "top"))


def happened_already(book_key: str, event: str) -> Entry | None:
    """The first entry of an event that a client sends again."""
    if not event:
        return None
    return Entry.objects.filter(book_key=book_key, event=event).first()


def as_chained(entry: Entry) -> dict[str, Any]:
    """The fields that the chain covers, with the time in whole microseconds UTC."""
    fields = {name: getattr(entry, name) for name in CHAINED}
    fields["at"] = entry.at.isoformat(timespec="microseconds")
    return fields | {"chain": entry.chain}


def broken_at(book_key: str) -> int | None:
    """The number of the first entry that does not fit its chain, or None."""
    rows = entries_of(book_key).iterator(chunk_size=500)
    return first_break(as_chained(entry) for entry in rows)


def book_keys() -> list[str]:
    """Every book that has a record."""
    keys = Entry.objects.order_by("book_key").values_list("book_key", flat=True)
    return list(keys.distinct())


def heads() -> dict[str, str]:
    """The last link of each book's chain: two boards with the same heads agree."""
    tops = Entry.objects.values("book_key").annotate(top=Max("number"))
    found: dict[str, str] = {}
    for row in tops:
        entry = Entry.objects.get(book_key=row["book_key"], number=row["top"])
        found[row["book_key"]] = entry.chain
    return found


def names(keys: Iterator[str] | list[str] | set[str]) -> dict[str, NameInRecord]:
    """Names as the record shows them, by person."""
    found = NameInRecord.objects.filter(person_key__in=list(keys))
    return {name.person_key: name for name in found}
