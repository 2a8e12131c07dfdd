"""What the open page of a sitting is drawn from: the list, and one item on the table."""

from collections import Counter
from dataclasses import dataclass
from typing import Any

from accounts.models import Person
from board.books.models import Item, ItemText
from board.books.queries import manuscript_of, pencils, roles_of
from board.light_table.queries import held_against
from board.permits import Act, may
from board.revisions.models import Revision
from board.revisions.queries import called, currents, is_laid
from board.revisions.queries.told import format_of, told_picture
from board.sittings.models import Decision, Sitting, SittingItem
from board.sittings.queries import (
    decisions_of,
    sitters,
    standing_decisions,
)
from board.tissue.queries import note_told, notes_for

Told = dict[str, Any]


@dataclass(frozen=True)
class Place:
    """One item in the order of the list, with the decision that stands."""

    row: SittingItem
    decision: Decision | None
    on_table: bool
    shown: bool

    @property
    def item(self) -> Item:
        return self.row.item


@dataclass(frozen=True)
class OnTable:
    """The item that a page shows."""

    row: SittingItem
    before: Revision | None
    told: Told | None
    notes: tuple[Told, ...]
    decisions: tuple[Decision, ...]
    text: ItemText | None

    @property
    def item(self) -> Item:
        return self.row.item

    @property
    def called(self) -> str:
        return called(self.row.revision) if self.row.revision else "nothing was up"


@dataclass(frozen=True)
class Page:
    """A spread of the reading: words and picture."""

    item: Item
    words: str
    medium: str


def places(sitting: Sitting, rows: list[SittingItem], shown: str) -> list[Place]:
    """The list in page order."""
    decided = standing_decisions(sitting)
    return [
        Place(
            row=row,
            decision=decided.get(row.item_id),
            on_table=row.item_id == sitting.now_item_id,
            shown=row.item.key == shown,
        )
        for row in rows
    ]


def on_table(person: Person, sitting: Sitting, row: SittingItem) -> OnTable:
    """One item as this reader may look at it, its frozen revision and no newer one."""
    item, revision = row.item, row.revision
    before = held_against(revision) if revision else None
    if before is not None:
        before.item = item
    pictures = told_picture(before, person), told_picture(revision, person)
    roles, drawn = roles_of(person, sitting.book), pencils(sitting.book)
    texts = item.texts.filter(text__number=row.text_version)
    told = None
    if revision is not None and pictures[1]:
        told = {
            "format": format_of(item),
            "name": f"{item.label}, {called(revision)}",
            "before": pictures[0],
            "after": pictures[1],
            "names": [called(before) if before else "", called(revision)],
        }
    return OnTable(
        row=row,
        before=before if pictures[0] else None,
        told=told,
        notes=tuple(
            note_told(one.note, person, roles, drawn)
            for one in notes_for(person, item, roles=roles)
            if one.is_open or one.note.state == "stands"
        ),
        decisions=tuple(one for one in decisions_of(sitting) if one.item_id == item.pk),
        text=texts.select_related("text").first(),
    )


def pictures_told(person: Person, row: SittingItem) -> list[Told]:
    """Fresh addresses of what lies on the table."""
    revision = row.revision
    before = held_against(revision) if revision else None
    if before is not None:
        before.item = row.item
    found = [told_picture(one, person) for one in (before, revision) if one]
    return [one for one in found if one]


def may_in(person: Person, sitting: Sitting) -> Told:
    """What a page offers this person."""
    roles = roles_of(person, sitting.book)
    chairs = person.pk == sitting.chair_id
    plans = may(Act.PLAN_SITTING, roles)
    return {
        "plan": plans,
        "chair": chairs and may(Act.CHAIR_SITTING, roles),
        "open": chairs or plans,
        "decide": may(Act.DECIDE, roles),
        "note": may(Act.RAISE_NOTE, roles),
        "read": chairs and may(Act.READ_THROUGH, roles),
        "house": [one.person for one in sitters(sitting.book) if one.house],
    }


def reading_pages(person: Person, sitting: Sitting) -> list[Page]:
    """The whole book as it is up now, from the first page to the last."""
    up = currents(sitting.book)
    pages = []
    for part in manuscript_of(sitting.book).parts:
        revision = up.get(part.item.pk)
        if revision is None or not is_laid(revision):
            continue
        part.item.book = sitting.book
        revision.item = part.item
        picture = told_picture(revision, person)
        pages.append(Page(part.item, part.words, picture["medium"] if picture else ""))
    return pages


def counted(decisions: list[Place]) -> str:
    """How many decisions fell so far, in a sentence."""
    words = Counter(place.decision.word for place in decisions if place.decision)
    if not words:
        return "Nothing is decided yet."
    told = ", ".join(f"{count} {word}" for word, count in words.items())
    left = sum(place.decision is None for place in decisions)
    return f"{told}; {left} still to come." if left else f"{told}."
