"""Setting the printing condition of a book."""

from dataclasses import dataclass

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book
from board.books.queries import roles_of
from board.checks.models import PrintingCondition
from board.checks.queries.terms import condition_of
from board.daybook.actions import Page, enter
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood
from board.permits import Act, require
from board.repro.profiles import keep_profile

INK = (100.0, 400.0)
WANTS_SOURCE = (
    "Say where the ink limit comes from: the printer's guide, a standard, "
    "or common practice."
)


@dataclass(frozen=True)
class ConditionDraft:
    """What the house says of press and paper.

    `profile` is a sent ICC file, or None to keep the one in force; `without_profile`
    drops it.
    """

    name: str
    ink_limit: float
    ink_source: str
    bleed_mm: float | None = None
    bleed_source: str = ""
    profile: bytes | None = None
    without_profile: bool = False


def set_condition(
    *, by: Person, book: Book, draft: ConditionDraft, event: str = ""
) -> PrintingCondition:
    """Put a new printing condition in force; every current picture is checked again."""
    require(Act.SET_PRESS, roles_of(by, book))
    _require_sense(draft)
    # A profile is looked over before anything is locked: it takes about a second.
    sent = keep_profile(draft.profile) if draft.profile else None
    return _write(by=by, book=book, draft=draft, sent=sent, event=event)


def _require_sense(draft: ConditionDraft) -> None:
    if not INK[0] <= draft.ink_limit <= INK[1]:
        raise NotUnderstood(
            "A total ink limit lies between 100 and 400 per cent; 300 is usual."
        )
    if not draft.ink_source.strip():
        raise NotUnderstood(WANTS_SOURCE)


@transaction.atomic
def _write(
    *,
    by: Person,
    book: Book,
    draft: ConditionDraft,
    sent: tuple[str, str] | None,
    event: str,
) -> PrintingCondition:
    kept = Book.objects.select_for_update().get(pk=book.pk)
    before = condition_of(kept)
    done = happened_already(kept.key, event)
    if done:
        return PrintingCondition.objects.get(key=done.about_key)
    if sent is None and before is not None and not draft.without_profile:
        sent = (before.profile_sha256, before.profile_name)
    sha256, name = sent or ("", "")
    made = PrintingCondition.objects.create(
        book=kept,
        by=by,
        name=draft.name.strip() or "Printing condition",
        profile_sha256=sha256,
        profile_name=name,
        ink_limit=draft.ink_limit,
        ink_source=draft.ink_source.strip(),
        bleed_mm=draft.bleed_mm,
        bleed_source=draft.bleed_source.strip(),
    )
    told = {
        "what": "printing condition",
        "name": made.name,
        "profile": name,
        "ink_limit": made.ink_limit,
        "ink_source": made.ink_source,
    }
    page = Page(kept.key, about_key=made.key, checksum=sha256, details=told)
    enter(Happened.BOOK_CHANGED, page, by=hand(by, kept, Act.SET_PRESS), event=event)
    return made
