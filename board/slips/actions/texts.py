"""A new text version, and what it takes off (T14)."""

from django.db import transaction

from accounts.models import Person
from board.books import actions as books
from board.books.models import Book, Item, ItemText, TextVersion
from board.books.queries import items_of_book, roles_of, text_of
from board.books.rules import Standing, take_out_art_notes
from board.daybook.queries import happened_already
from board.errors import NotUnderstood, Stale, WrongMove
from board.permits import Act, Role, require
from board.slips.actions.falling import fall
from board.slips.actions.locked import Locked, event_of, lock, lock_book
from board.slips.rules.moves import LATE


@transaction.atomic
def make_text_version(
    *,
    by: Person,
    book: Book,
    words: dict[str, str],
    reasons: dict[str, str],
    event: str,
    on: int | None = None,
) -> TextVersion:
    """Keep new words for the items whose words differ; story, words and fit lapse.

    `words` maps item keys to new words; `reasons` holds reason, code and payer (code
    and payer are asked once an item is past its sketch OK). `on` is the text version
    that the words were changed from: if another came meanwhile, nothing is written.
    """
    book = lock_book(book)
    require(Act.EDIT_TEXT, roles_of(by, book))
    sent = happened_already(book.key, event_of(by, event))
    if sent:
        return TextVersion.objects.get(book=book, number=sent.text_version or 0)
    _require_newest(book, words, on)
    changed = _changed(book, words)
    if not changed:
        raise NotUnderstood("No words differ from the last text version.")
    _stop(changed, reasons)
    made = books.make_text_version(
        book,
        {item.key: text for item, text in changed.items()},
        by=by,
        event=event_of(by, event),
        **reasons,
    )
    for place, item in enumerate(changed):
        _lapse(lock(item, by=by, event=f"{event[:36]}-{place}"), made)
    return made


def _require_newest(book: Book, words: dict[str, str], on: int | None) -> None:
    newest = book.texts.order_by("-number").first()
    if on is None or newest is None or newest.number == on:
        return
    since = book.texts.filter(number__gt=on)
    theirs = ItemText.objects.filter(text__in=since).select_related("item")
    now = {
        f"{part.item.label}, text version {newest.number}": part.words
        for part in theirs.order_by("text__number")
        if part.item.key in words
    }
    raise Stale(
        f"{newest.by.name} made text version {newest.number} while you were writing. "
        "Nothing of yours is lost and nothing of theirs overwritten: both stand below.",
        now=now,
    )


def _changed(book: Book, words: dict[str, str]) -> dict[Item, str]:
    changed = {}
    for item in items_of_book(book):
        if item.key not in words:
            continue
        said, old = words[item.key].replace("\r\n", "\n"), text_of(item)
        if take_out_art_notes(said)[0] != (old.words if old else ""):
            changed[item] = said
    return changed


def _stop(changed: dict[Item, str], reasons: dict[str, str]) -> None:
    rows = [row for item in changed for row in item.stages.all()]
    if any(row.standing == Standing.HANDED_OVER for row in rows):
        raise WrongMove("One of these items is handed over; it must be recalled first.")
    late = any(row.standing in LATE and row.order >= 1 for row in rows)
    if late and not (reasons.get("code") and reasons.get("payer")):
        raise NotUnderstood(
            "Past the sketch OK a change of text names whose alteration it is and who "
            "pays."
        )


def _lapse(locked: Locked, made: TextVersion) -> None:
    locked.role = Role.EDITOR
    if locked.row is not None:
        fall(locked, "new text", f"text version {made.number}")
