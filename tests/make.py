"""Make things for tests: keyword-only, lawful defaults."""

import itertools
from datetime import UTC, datetime

from accounts.models import Person
from board.books.models import Book, Credit, Item, ItemStage
from board.books.rules import STAGES, Ends, Stage, Standing, items_of
from board.permits import Role
from board.repro.models import LeasedWork
from board.revisions.models import Revision
from board.tissue.models import Note, NotePicture

_count = itertools.count(1)
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def event() -> str:
    """A fresh event id, as a page would make one."""
    return f"event-{next(_count):06d}"


def person(*, name: str = "", email: str = "", initials: str = "") -> Person:
    number = next(_count)
    return Person.objects.create_person(
        email=email or f"person{number}@example.org",
        name=name or f"Person Number{number}",
        initials=initials,
    )


def book(*, title: str = "Pell", extent: int = 32, studio: bool = False) -> Book:
    """A 10 x 10 inch book with its items and stages, thumbnails waiting."""
    made = Book.objects.create(
        title=title,
        trim_width_mm=254,
        trim_height_mm=254,
        extent=extent,
        preset=Book.Preset.STUDIO if studio else Book.Preset.HOUSE,
    )
    for position, plan in enumerate(items_of(extent, Ends.SELF), start=1):
        item = Item.objects.create(
            book=made,
            position=position,
            kind=plan.kind,
            first_page=plan.first,
            last_page=plan.last,
            label=plan.label,
            story=plan.story,
        )
        ItemStage.objects.bulk_create(
            ItemStage(item=item, stage=stage, order=order)
            for order, stage in enumerate(STAGES)
        )
    return made


def credit(*, on: Book, who: Person, role: Role) -> Credit:
    return Credit.objects.create(book=on, person=who, role=role)


def at(item: Item, stage: Stage, standing: Standing) -> ItemStage:
    """Put an item's stage where a test wants it."""
    row = item.stages.get(stage=stage)
    row.standing = standing
    row.since = NOW
    row.save()
    return row


def revision(
    *,
    of: Item,
    by: Person,
    stage: Stage = Stage.SKETCH,
    number: int | None = None,
    sha256: str = "",
) -> Revision:
    """A revision that is prepared and laid, in the folder unless numbered."""
    mark = next(_count)
    return Revision.objects.create(
        item=of,
        stage=stage,
        number=number,
        by=by,
        filename=f"{of.label}.png",
        sha256=sha256 or f"{mark:064x}",
        size=1000,
        format="PNG",
        width=2430,
        height=1230,
        uploaded_at=NOW,
        sent_up_at=NOW if number else None,
        laid=Revision.Laid.BLED,
        matrix=[[1 / 2400, 0, -1 / 160], [0, 1 / 1200, -1 / 80], [0, 0, 1]],
        confidence=1.0,
        error_bar_mm=0.0,
        work=LeasedWork.State.DONE,
        picture=f"picture-{mark:06d}",
    )


def note_picture(*, under: Note) -> NotePicture:
    """A reference picture under a note; no bytes lie behind it."""
    mark = next(_count)
    return NotePicture.objects.create(
        note=under,
        filename="heron.jpg",
        sha256=f"{mark:064x}",
        width=40,
        height=30,
        by=under.by,
        at=NOW,
        event=f"{under.by.key}:{event()}",
    )
