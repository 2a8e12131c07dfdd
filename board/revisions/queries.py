"""Reading revisions: current, in the folder, how they lie and where they are seen."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_for, items_of_book, latest_open, roles_of
from board.books.rules import STAGES, Kind, Stage
from board.errors import NotFound
from board.permits import Act, may, require
from board.revisions.models import Revision, Upload
from board.revisions.rules import (
    STEP_WORDS,
    STEPS,
    Guess,
    Place,
    guess_item,
    how_sure,
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
    return rows.order_by("-uploaded_at", "-pk")


def put_away_in(item: Item, person: Person) -> QuerySet[Revision]:
    """What was put away and can be taken out again."""
    rows = item.revisions.filter(number=None, put_away_at__isnull=False)
    if not sees_folder(person, item.book):
        rows = rows.filter(by=person)
    return rows.order_by("-put_away_at")


def revision_for(person: Person, key: str, act: Act = Act.LOOK) -> Revision:
    """The revision: 404 unless credited on its book, 403 when it is not theirs to see."""
    found = Revision.objects.select_related("item__book", "by", "laid_on").filter(
        key=key, item__book__in=books_for(person)
    )
    revision = found.first()
    if revision is None:
        raise NotFound
    roles = roles_of(person, revision.item.book)
    require(act, roles)
    if not revision.is_up and revision.by_id != person.pk:
        require(Act.UPLOAD, roles)
    return revision


def upload_for(person: Person, key: str) -> Upload:
    """One's own upload: 404 unless credited on its book and the sender."""
    found = Upload.objects.select_related("item__book").filter(
        key=key, by=person, book_key__in=books_for(person).values("key")
    )
    upload = found.first()
    if upload is None:
        raise NotFound
    return upload


def on_the_way(book: Book, person: Person) -> QuerySet[Upload]:
    """Uploads of this person that are not yet in the folder, newest first."""
    open_states = [Upload.State.RECEIVING, Upload.State.ARRIVED, Upload.State.REFUSED]
    rows = Upload.objects.filter(book_key=book.key, by=person, state__in=open_states)
    return rows.select_related("item").order_by("-made_at")


def places_of(book: Book) -> list[Place]:
    """The book's items as `rules.guess_item` wants them."""
    rows = book.items.filter(set_aside=False).order_by("position")
    return [
        Place(row.key, Kind(row.kind), row.first_page, row.last_page, row.story)
        for row in rows
    ]


def guess_for(book: Book, filename: str) -> tuple[Item | None, str, Guess]:
    """The item and its latest open stage that a file's name speaks of, and why."""
    guess = guess_item(filename, places_of(book))
    item = items_of_book(book).filter(key=guess.key).first() if guess.key else None
    return item, open_stage(item), guess


def open_stage(item: Item | None) -> str:
    """The item's latest open stage, or nothing."""
    stage = latest_open(list(item.stages.all())) if item else None
    return stage.stage if stage else ""


def same_bytes(item: Item, stage: str, sha256: str) -> str:
    """Why these bytes may not come in again, or nothing."""
    now = current(item, stage)
    if now and now.sha256 == sha256:
        return (
            f"This is byte for byte the current revision {now.number} of {item.label}. "
            "Nothing would change. Send the newer file."
        )
    again = item.revisions.filter(
        stage=stage, sha256=sha256, number=None, put_away_at=None
    )
    if again.exists():
        return f"The very same file already lies in the folder of {item.label}."
    return ""


def reference_for(revision: Revision) -> Revision | None:
    """The laid revision that this one is registered on: the one before it.

    The last one sent up at its stage, else the last laid in its folder, else the
    same of the stages before it.
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


def _latest(rows: Sequence[Revision], stage: str) -> Revision | None:
    rows = [row for row in rows if _order(row.stage) <= _order(stage)]
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
    return f"{_laid_by(revision)}{_error_bar(revision)}."


def _laid_by(revision: Revision) -> str:
    laid = Revision.Laid
    unchecked = (
        f"; too little agrees with {called(revision.laid_on)} to check it"
        if revision.laid_on
        else "; not measured"
    )
    if revision.laid == laid.REGISTERED and revision.laid_on:
        sure = how_sure(revision.confidence)
        return f"Laid by registration on {called(revision.laid_on)}; {sure}"
    if revision.laid == laid.BY_HAND:
        return f"Laid by hand with {len(revision.points)} pairs of points"
    return {
        laid.BLED: "Laid by its word: it shows the whole bled sheet" + unchecked,
        laid.TRIMMED: "Laid by its word: it is cut to the trim" + unchecked,
        laid.CORNERS: "Laid by its four corners, tapped by hand",
    }.get(laid(revision.laid), "Laid")


def _error_bar(revision: Revision) -> str:
    if not revision.error_bar_mm:
        return ""
    bar = max(revision.error_bar_mm, 0.05)
    return f"; error bar {bar:.1f} mm on the printed page"


def called(revision: Revision) -> str:
    """What people call it: "sketch, revision 2"."""
    which = f"revision {revision.number}" if revision.is_up else "in the folder"
    return f"{revision.stage}, {which}"


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
