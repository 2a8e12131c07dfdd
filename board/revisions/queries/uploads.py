"""Reading uploads: whose, for which item, and why they may not come in."""

from django.db.models import QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import books_for, items_of_book, latest_open
from board.books.rules import Kind
from board.errors import NotFound
from board.repro import store
from board.revisions.models import Upload
from board.revisions.queries import current
from board.revisions.rules import Guess, Place, guess_item


def upload_for(person: Person, key: str) -> Upload:
    """One's own upload: 404 unless credited on its book and the sender."""
    found = Upload.objects.select_related("item__book").filter(
        key=key, by=person, book_key__in=books_for(person).values("key")
    )
    upload = found.first()
    if upload is None:
        raise NotFound
    return upload


def on_the_way(
    book: Book, person: Person, *, storyboard: bool = False
) -> QuerySet[Upload]:
    """Uploads of this person that are not yet taken in, newest first."""
    open_states = [Upload.State.RECEIVING, Upload.State.ARRIVED, Upload.State.REFUSED]
    rows = Upload.objects.filter(
        book_key=book.key, by=person, state__in=open_states, storyboard=storyboard
    )
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


def received(upload: Upload) -> int:
    """How many bytes of it are here."""
    if upload.state != Upload.State.RECEIVING:
        return upload.length
    part = store.part_path(upload.key)
    return part.stat().st_size if part.exists() else 0
