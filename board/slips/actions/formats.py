"""Another trim, bleed or extent, and what it takes off (T18)."""

from collections.abc import Sequence

from django.db import transaction

from accounts.models import Person
from board.books.actions import formats, writer
from board.books.actions.formats import FormatDraft
from board.books.models import Book, Item, ItemStage
from board.books.queries import items_of_book, roles_of
from board.books.rules import Standing
from board.books.rules.refitting import Refit, Refitted
from board.checks.actions import check_again, counting
from board.clippings.actions import refit_uses
from board.continuity.actions import refit_places
from board.daybook.actions import Page, enter, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, Stale, WrongMove
from board.permits import Act, Role, require
from board.revisions.actions import lay_over
from board.slips.actions.falling import fall
from board.slips.actions.lapsing import lapse_book_slips
from board.slips.actions.locked import event_of, lock, lock_book
from board.slips.models import FormatChange, Reopening
from board.tissue.actions import refit_marks
from board.tissue.queries import sheet_of

LIMITS_MM = {"trim width": (50, 700), "trim height": (50, 700), "bleed": (0, 25)}


@transaction.atomic
def change_format(
    *,
    by: Person,
    book: Book,
    draft: FormatDraft,
    reasons: dict[str, str],
    version: int,
    event: str,
) -> FormatChange:
    """Change trim, bleed or extent: art, story, fit and press lapse where it bears.

    `reasons` holds reason, code and payer. Trim and bleed bear on every item, an
    extent on those whose pages move; one that has no pages any more is set aside.
    """
    book = lock_book(book)
    require(Act.CHANGE_FORMAT, roles_of(by, book))
    sent = happened_already(book.key, event_of(by, event))
    if sent:
        return FormatChange.objects.get(key=sent.about_key)
    if book.version != version:
        now = {name: f"{said:g}" for name, said in FormatDraft.of(book).told().items()}
        raise Stale(now=now)
    before = FormatDraft.of(book)
    places = formats.places_in(book, draft.extent)
    _stop(book, before, draft, reasons)
    made = _keep(by, book, before, draft, reasons, event)
    touched = _touched(book, before, draft, places)
    lengths = _lengths(before, draft)
    for place, item in enumerate(touched):  # while each still has its old pages
        locked = lock(item, by=by, event=f"{event[:36]}-{place}", role=Role.PRODUCTION)
        if locked.row is not None:
            fall(locked, "format", f"{made.get_code_display()}: another format")
    formats.write_format(book, draft)
    if draft.extent != before.extent:
        formats.write_places(book, places)
    if lengths:
        _refit(book, before, draft)
    check_again(counting(items_of_book(book)))
    lapse_book_slips(book, because="another format", now=made.at)
    return made


def _lengths(before: FormatDraft, draft: FormatDraft) -> bool:
    """Whether a length changed, not only the extent."""
    return (before.trim_width_mm, before.trim_height_mm, before.bleed_mm) != (
        draft.trim_width_mm,
        draft.trim_height_mm,
        draft.bleed_mm,
    )


def _stop(
    book: Book, before: FormatDraft, draft: FormatDraft, reasons: dict[str, str]
) -> None:
    """Every unmet guard at once."""
    unmet = []
    gone = ItemStage.objects.filter(item__book=book, standing=Standing.HANDED_OVER)
    if gone.exists():
        unmet.append("The book is handed over; it must be recalled first.")
    if draft == before:
        unmet.append("Trim, bleed and extent are what they were.")
    told = draft.told()
    for name, (least, most) in LIMITS_MM.items():
        if not least <= told[name] <= most:
            unmet.append(f"The {name} lies between {least} and {most} mm.")
    if unmet:
        raise WrongMove(" ".join(unmet), *unmet)
    known = reasons.get("code", "") in Reopening.Code.values
    if not (known and reasons.get("payer", "").strip() and reasons.get("reason")):
        raise NotUnderstood(
            "A change of format names whose alteration it is, why, and who pays."
        )


def _keep(
    by: Person,
    book: Book,
    before: FormatDraft,
    draft: FormatDraft,
    reasons: dict[str, str],
    event: str,
) -> FormatChange:
    now = this_moment()
    made = FormatChange.objects.create(
        book=book,
        before=before.told(),
        after=draft.told(),
        code=reasons["code"],
        payer=reasons["payer"].strip(),
        reason=reasons["reason"].strip(),
        by=by,
        at=now,
    )
    old, new = made.before, made.after
    told = [
        f"{name} {old[name]:g} to {new[name]:g}"
        for name in new
        if old[name] != new[name]
    ]
    details = {
        "code": made.code,
        "reason": made.reason,
        "payer": made.payer,
        "words": ", ".join(told),
    }
    page = Page(book.key, about_key=made.key, details=details)
    who = writer(by, Role.PRODUCTION)
    enter(Happened.FORMAT_CHANGED, page, by=who, event=event_of(by, event), now=now)
    return made


def _touched(
    book: Book,
    before: FormatDraft,
    draft: FormatDraft,
    places: Sequence[Refitted[int]],
) -> list[Item]:
    """Every item, or with another extent alone those whose pages move."""
    items = list(items_of_book(book))
    if _lengths(before, draft):
        return items
    plans = {one.name: one.plan for one in places if one.name is not None}
    return [item for item in items if _moves(item, plans[item.pk])]


def _moves(item: Item, plan: object) -> bool:
    pages = (getattr(plan, "first", None), getattr(plan, "last", None))
    return pages != (item.first_page, item.last_page)


def _refit(book: Book, before: FormatDraft, draft: FormatDraft) -> None:
    """Lay every picture on the new sheet and keep every mark on its place."""
    fit = Refit.between(
        (before.trim_width_mm, before.trim_height_mm),
        (draft.trim_width_mm, draft.trim_height_mm),
    )
    formats.refit_boxes(book, fit)
    for item in book.items.all():
        item.book = book
        lay_over(item, fit)
        refit_marks(item, fit, sheet_of(item))
        refit_uses(item, fit)
        refit_places(item, fit)
