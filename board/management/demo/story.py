"""The demo book's facts as files tell them: cast, items, notes, calendar."""

import json
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any

from django.conf import settings

from accounts.models import Person
from board.books.models import Book, Item
from board.revisions.models import Revision
from board.tissue.models import Note

FOLDER = Path(settings.BASE_DIR) / "fixtures"
Facts = dict[str, Any]  # one row of the fixture's JSON, whatever it holds


@dataclass
class Story:
    """The calendar being replayed, and what it made so far."""

    start: datetime
    book: Book | None = None
    people: dict[str, Person] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    raised: dict[str, Note] = field(default_factory=dict)
    framed: dict[str, Revision] = field(default_factory=dict)
    events: int = 0

    @cached_property
    def facts(self) -> Facts:
        return self._read("book")

    @cached_property
    def notes(self) -> dict[str, Facts]:
        return {row["no"]: row for row in self._read("notes")["notes"]}

    @cached_property
    def calendar(self) -> list[Facts]:
        return list(self._read("calendar")["events"])

    @cached_property
    def sources(self) -> list[Facts]:
        return list(self._read("sources")["sources"])

    def _read(self, name: str) -> Facts:
        read: Facts = json.loads((FOLDER / f"{name}.json").read_text("utf-8"))
        return read

    def event(self) -> str:
        """The next event id of the replay."""
        self.events += 1
        return f"demo-{self.events:06d}"

    def moment(self, day: int, place: int) -> datetime:
        """When the nth event of a day happened."""
        return self.start + timedelta(days=day, minutes=2 * place)

    def until(self, day: int) -> list[Facts]:
        return [event for event in self.calendar if event["day"] <= day]

    def the_book(self) -> Book:
        if self.book is None:
            raise LookupError("The demo book is not made yet.")
        return self.book

    def items_of(self, event: Facts) -> list[Item]:
        """The items an event names, "all" or one."""
        named = event.get("items", event.get("item"))
        if named == "all":
            return list(self.items.values())
        labels: list[str] = [named] if isinstance(named, str) else list(named or [])
        return [self.fresh(self.items[label]) for label in labels]

    def fresh(self, item: Item) -> Item:
        return Item.objects.select_related("book").get(pk=item.pk)

    def note(self, no: str) -> Note:
        return Note.objects.get(pk=self.raised[no].pk)
