"""Reading storyboard sheets: whose, how far, and which items their frames can fill."""

from django.db.models import Count, QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_for, items_of_book, latest_open, roles_of
from board.books.rules import Kind, Stage, Standing
from board.errors import NotFound
from board.permits import Act, require
from board.repro.grants import grant_tiles
from board.repro.unlaid import GLIMPSE, glimpse_key
from board.revisions.models import StoryboardSheet, Upload
from board.revisions.queries import Progress, scope_of
from board.revisions.queries.uploads import same_bytes
from board.revisions.rules import Place
from board.revisions.rules.storyboards import SHEET_STEP_WORDS, SHEET_STEPS

State = StoryboardSheet.State
DONE_WITH = (Standing.OK, Standing.HANDED_OVER)


def sheets_of(book: Book, person: Person) -> QuerySet[StoryboardSheet]:
    """The sheets of the book that this person sent, newest first, those put away last."""
    rows = StoryboardSheet.objects.filter(book=book, by=person)
    return rows.annotate(laid_out=Count("revisions")).order_by(
        "put_away_at", "-sent_at"
    )


def sheet_for(person: Person, key: str) -> StoryboardSheet:
    """One's own sheet: 404 for anybody else, 403 once the credit has ended."""
    found = StoryboardSheet.objects.select_related("book", "by").filter(
        key=key, by=person, book__in=books_for(person)
    )
    sheet = found.annotate(laid_out=Count("revisions")).first()
    if sheet is None:
        raise NotFound
    require(Act.UPLOAD, roles_of(person, sheet.book))
    return sheet


def same_sheet(book: Book, upload: Upload) -> str:
    """Why this sheet may not come in again, or nothing."""
    again = StoryboardSheet.objects.filter(
        book=book, by=upload.by, sha256=upload.sha256, put_away_at=None
    )
    return "The very same sheet is here already; go on with it below." * again.exists()


def to_fill(book: Book) -> list[Item]:
    """The items whose thumbnails are open and not OK yet, in page order."""
    return [item for item in items_of_book(book) if _is_open(item)]


def _is_open(item: Item) -> bool:
    stage = latest_open(list(item.stages.all()))
    return (
        stage is not None
        and stage.stage == Stage.THUMBNAILS
        and stage.standing not in DONE_WITH
    )


def why_not_fill(sheet: StoryboardSheet, item: Item | None) -> str:
    """Why a frame of the sheet may not go into this item's folder, or nothing."""
    if item is None:
        return "That item belongs to another book, or was set aside."
    if not _is_open(item):
        return f"Thumbnails are not open on {item.label}. Choose another item."
    return same_bytes(item, Stage.THUMBNAILS, sheet.sha256)


def places_to_fill(items: list[Item]) -> list[Place]:
    """The items as `rules.storyboards.items_for` wants them."""
    return [
        Place(one.key, Kind(one.kind), one.first_page, one.last_page, one.story)
        for one in items
    ]


def progress_of(sheet: StoryboardSheet) -> Progress:
    """How far the cut is."""
    failed, done = sheet.work == State.FAILED, sheet.work == State.DONE
    steps = SHEET_STEPS.index(sheet.step) + 1 if sheet.step in SHEET_STEPS else 0
    return Progress(
        key=sheet.key,
        state=sheet.work,
        step=sheet.step,
        says=sheet.failure if failed else SHEET_STEP_WORDS.get(sheet.step, ""),
        share=1.0 if done else steps / len(SHEET_STEPS),
        over=done or failed,
    )


def glimpse_of(sheet: StoryboardSheet, person: Person) -> str:
    """The address of the sheet as it was sent, upright; nothing before its cut."""
    if sheet.work != State.DONE:
        return ""
    scope = scope_of(sheet.book, person)
    return f"{grant_tiles(glimpse_key(sheet.key), scope)}/{GLIMPSE}"
