"""Reading revisions: current, in the folder, how they lie and where they are seen."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from django.db.models import Q, QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_for, roles_of
from board.books.rules import STAGES, Stage
from board.errors import NotFound
from board.permits import Act, Role, may, require
from board.repro import store
from board.repro.doors import tile_description
from board.repro.grants import grant_tiles
from board.repro.laying import MEDIUM, SMALL
from board.repro.sheets import Rect, SheetSize, sheet_rect
from board.repro.unlaid import GLIMPSE, glimpse_key
from board.revisions.models import Revision
from board.revisions.rules import (
    DOUBT_MM,
    STEP_WORDS,
    STEPS,
    UNSURE,
    how_sure,
    shape_doubt,
)

State = Revision.State


@dataclass(frozen=True)
class Progress:
    """How far a revision's preparation is; `says` is a sentence for people."""

    key: str
    state: str
    step: str
    says: str
    share: float
    over: bool


@dataclass(frozen=True)
class Picture:
    """A laid picture as a viewer takes it; addresses are one person's and run out.

    `tiles` stands before `<level>/<column>_<row>.jpg`, `rect` is what the picture
    covers on the sheet, `until` the second since 1970 at which the addresses end.
    """

    revision: str
    width: int
    height: int
    tile: int
    levels: int
    rect: Rect
    tiles: str
    small: str
    medium: str
    until: int

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def sent_up(item: Item) -> QuerySet[Revision]:
    """Every revision of the item that others may see, oldest first."""
    return item.revisions.filter(number__isnull=False).order_by("sent_up_at", "number")


def current(item: Item, stage: Stage | str) -> Revision | None:
    """The last one sent up at the stage."""
    return sent_up(item).filter(stage=stage).order_by("-number").first()


def currents(book: Book) -> dict[int, Revision]:
    """Each item's current revision at its latest stage that has one; one query."""
    rows = Revision.objects.filter(item__book=book, number__isnull=False)
    found: dict[int, Revision] = {}
    for row in rows.order_by("number").defer("points", "unlaid_because"):
        known = found.get(row.item_id)
        if known is None or _order(row.stage) >= _order(known.stage):
            found[row.item_id] = row
    return found


def _order(stage: str) -> int:
    return STAGES.index(Stage(stage))


def is_laid(revision: Revision) -> bool:
    """Whether it lies on the sheet and can be looked at."""
    return revision.work == State.DONE and bool(revision.picture)


def sees_folder(person: Person, book: Book) -> bool:
    """Only illustrators look into the folder."""
    return may(Act.UPLOAD, roles_of(person, book))


def folder_of(item: Item, person: Person) -> QuerySet[Revision]:
    """What lies in the item's folder for this person, newest first."""
    rows = item.revisions.filter(number=None, put_away_at=None)
    if not sees_folder(person, item.book):
        rows = rows.filter(by=person)
    return rows.select_related("item__book", "by", "laid_on").order_by(
        "-uploaded_at", "-pk"
    )


def in_folder(book: Book, person: Person) -> QuerySet[Revision]:
    """Everything in this person's folder on the book, in page order."""
    rows = Revision.objects.filter(item__book=book, number=None, put_away_at=None)
    if not sees_folder(person, book):
        rows = rows.filter(by=person)
    return rows.select_related("item__book", "by", "laid_on").order_by(
        "item__position", "-uploaded_at"
    )


def seen_by(person: Person, item: Item) -> QuerySet[Revision]:
    """The item's revisions that this person may see, the folder's included."""
    up = Q(number__isnull=False)
    own = Q(by=person, put_away_at=None)
    if sees_folder(person, item.book):
        own = Q(put_away_at=None)
    rows = item.revisions.filter(up | own)
    return rows.select_related("item__book", "by", "laid_on")


def put_away_in(item: Item, person: Person) -> QuerySet[Revision]:
    """What was put away and can be taken out again."""
    rows = item.revisions.filter(number=None, put_away_at__isnull=False)
    if not sees_folder(person, item.book):
        rows = rows.filter(by=person)
    return rows.order_by("-put_away_at")


def revision_for(person: Person, key: str, act: Act = Act.LOOK) -> Revision:
    """The revision: 404 unless credited on its book, 403 when it is not theirs to see."""
    rows = Revision.objects.select_related("item__book", "by", "laid_on")
    revision = rows.filter(key=key).order_by("pk").first()
    if revision is None:
        raise NotFound
    require_shown(revision, person, roles_for(person, revision.item.book, act))
    return revision


def require_seen(revision: Revision, person: Person) -> None:
    """Raise unless this person may see the revision: 404 off the book, else 403."""
    require_shown(revision, person, roles_for(person, revision.item.book))


def require_shown(revision: Revision, person: Person, roles: frozenset[Role]) -> None:
    """The same for credits that were read already: 403 when it is not theirs to see."""
    own = revision.by_id == person.pk
    require(Act.LOOK if revision.is_up or own else Act.UPLOAD, roles)


def reference_for(revision: Revision) -> Revision | None:
    """The laid revision that this one is registered on: the one before it.

    The last one sent up at its stage, else the last laid in its folder, else the
    same of the stages before it, thumbnails left out.
    """
    rows = revision.item.revisions.filter(work=State.DONE, put_away_at=None)
    older = (
        rows.exclude(pk=revision.pk).exclude(picture="").filter(matrix__isnull=False)
    )
    before = Q(uploaded_at__lt=revision.uploaded_at) | Q(
        uploaded_at=revision.uploaded_at, pk__lt=revision.pk
    )
    return _latest(list(older.filter(before)), revision.stage)


def first_of_stage(revision: Revision) -> Revision | None:
    """The stage's first laid revision, against which later ones are checked."""
    rows = revision.item.revisions.filter(
        stage=revision.stage, number=1, work=State.DONE
    )
    return rows.exclude(pk=revision.pk).exclude(picture="").first()


def _lays(older: str, newer: str) -> bool:
    """Whether a revision of one stage may lay one of the other.

    A thumbnail is too rough to lay anything but a thumbnail: the first sketch is laid
    by its word again.
    """
    if older == Stage.THUMBNAILS:
        return newer == Stage.THUMBNAILS
    return _order(older) <= _order(newer)


def _latest(rows: Sequence[Revision], stage: str) -> Revision | None:
    rows = [row for row in rows if _lays(row.stage, stage)]
    return max(
        rows,
        key=lambda row: (
            _order(row.stage),
            row.is_up,
            row.number or 0,
            row.uploaded_at,
        ),
        default=None,
    )


def how_laid(revision: Revision) -> str:
    """One honest sentence: how it was laid on the sheet, and how surely."""
    if revision.work == State.FAILED:
        return revision.failure
    if revision.work != State.DONE:
        return "Not laid yet: it is being prepared."
    if not revision.picture:
        return f"In the folder, not laid. {revision.unlaid_because}".strip()
    return f"{_laid_by(revision)}{_error_bar(revision)}{_residual(revision)}."


def doubt_of(revision: Revision) -> str:
    """Why this laying wants a second look before it goes up; empty where none does."""
    if revision.laid in (Revision.Laid.BLED, Revision.Laid.TRIMMED):
        return shape_doubt(revision.laid, revision.error_bar_mm or 0.0)
    residual = revision.residual_mm or 0.0
    if revision.laid == Revision.Laid.REGISTERED and (
        (revision.confidence or 0.0) < UNSURE or residual >= DOUBT_MM
    ):
        return "The board is not sure where it lies: hold it against the last one."
    return ""


def _laid_by(revision: Revision) -> str:
    laid = Revision.Laid
    if revision.laid == laid.REGISTERED and revision.laid_on:
        sure = how_sure(revision.confidence)
        under = called(revision.laid_on)
        if revision.is_up and not revision.laid_on.is_up:
            under = "an earlier picture of the artist's"  # the folder stays private
        return f"Laid by registration on {under}; {sure}"
    if revision.laid == laid.BY_HAND:
        return f"Laid by hand with {len(revision.points)} pairs of points"
    return {
        laid.BLED: "Laid by its word: it shows the whole bled sheet; not measured",
        laid.TRIMMED: "Laid by its word: it is cut to the trim; not measured",
        laid.CORNERS: _by_corners(revision),
    }.get(laid(revision.laid), "Laid")


def _by_corners(revision: Revision) -> str:
    if revision.storyboard_id is None:
        return "Laid by its four corners, tapped by hand"
    return f"Frame {revision.frame} of a storyboard sheet, laid by its four corners"


def _error_bar(revision: Revision) -> str:
    if not revision.error_bar_mm:
        return ""
    if revision.laid in (Revision.Laid.BLED, Revision.Laid.TRIMMED):
        off = revision.error_bar_mm
        return f"; its shape is off the sheet's by {off:.1f} mm" if off >= 0.1 else ""
    bar = max(revision.error_bar_mm, 0.05)
    return f"; error bar {bar:.1f} mm on the printed page"


def _residual(revision: Revision) -> str:
    if revision.residual_mm is None:
        return ""
    off = max(revision.residual_mm, 0.05)
    return f"; checked against the stage's first, residual {off:.1f} mm"


def called(revision: Revision) -> str:
    """What people call it: "sketch, revision 2", or its file's name in the folder."""
    if revision.is_up:
        return f"{revision.stage}, revision {revision.number}"
    where = f"frame {revision.frame} of " if revision.frame else ""
    return f"{where}{revision.filename} ({revision.stage}, in the folder)"


def progress_of(revision: Revision) -> Progress:
    """How far its preparation is."""
    failed = revision.work == State.FAILED
    done = revision.work == State.DONE
    says = revision.failure if failed else STEP_WORDS.get(revision.step, "")
    if done and not revision.picture:
        says = how_laid(revision)
    steps = STEPS.index(revision.step) + 1 if revision.step in STEPS else 0
    return Progress(
        key=revision.key,
        state=revision.work,
        step=revision.step,
        says=says,
        share=1.0 if done else steps / len(STEPS),
        over=done or failed,
    )


def scope_of(book: Book, person: Person) -> str:
    """For whom an address is signed: this person, on this book."""
    return f"{book.key}:{person.key}"


def sheet_of(item: Item) -> SheetSize:
    """The item's sheet in millimetres."""
    return SheetSize(item.width_mm, item.height_mm, item.book.bleed_mm)


def picture_of(revision: Revision, person: Person) -> Picture | None:
    """Where this person sees the laid picture, or nothing while it is not laid."""
    if not is_laid(revision) or not _is_there(revision.picture):
        return None
    tiles = grant_tiles(revision.picture, scope_of(revision.item.book, person))
    return Picture(
        revision=revision.key,
        **_described(revision.picture),
        rect=sheet_rect(sheet_of(revision.item)),
        tiles=f"{tiles}/",
        small=f"{tiles}/{SMALL}",
        medium=f"{tiles}/{MEDIUM}",
        until=int(tiles.split("/")[2]),
    )


def _is_there(picture: str) -> bool:
    return (store.picture_folder(picture) / "laid.index").exists()


@lru_cache(maxsize=512)
def _described(picture: str) -> dict[str, int]:
    # What lies under a picture's key never changes, so it is read once.
    return tile_description(picture)


def small_of(revision: Revision | None, person: Person, book: Book) -> str:
    """The small picture's address, if it is laid, without a look at the disk."""
    if revision is None or not is_laid(revision):
        return ""
    return f"{grant_tiles(revision.picture, scope_of(book, person))}/{SMALL}"


def glimpse_of(revision: Revision, person: Person) -> str:
    """The address of the picture as it was sent, upright and not laid."""
    scope = scope_of(revision.item.book, person)
    return f"{grant_tiles(glimpse_key(revision.key), scope)}/{GLIMPSE}"
