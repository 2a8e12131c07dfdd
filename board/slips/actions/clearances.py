"""Clearance of sources, and where they lie: what either takes off (T19)."""

from collections.abc import Iterable

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Item
from board.books.queries import roles_of
from board.books.rules import Standing
from board.clippings import actions as clippings
from board.clippings.actions import UseDraft
from board.clippings.models import Clipping, Judgement, OfferedUse, Use
from board.clippings.queries import items_using, source_list
from board.clippings.rules import HOW
from board.daybook.actions import Page
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotFound
from board.permits import Act, Role
from board.revisions.models import Revision
from board.slips.actions.falling import fall
from board.slips.actions.locked import Locked, lock
from board.slips.queries.slates import stage_of


@transaction.atomic
def change_clearance(
    *, by: Person, clipping: Clipping, clearance: str, because: str, event: str
) -> Judgement:
    """Judge a source (T19): rights alone; clearance lapses where it lies now.

    On an item that is handed over nothing moves: it is recorded and told.
    """
    items = items_using(clipping)
    locked = _lock_for(clipping, items, by=by, event=event)
    locked.require(Act.JUDGE_SOURCE)
    clipping = Clipping.objects.select_for_update().get(pk=clipping.pk)
    if happened_already(locked.book.key, locked.event):
        return clipping.judgements.order_by("-pk")[0]
    before = clipping.clearance
    made = clippings.write_clearance(
        clipping, clearance, because, by=by, now=locked.now
    )
    items = items_using(clipping)  # read again: the book is locked now
    gone = [item.label for item in items if _is_handed_over(item)]
    words = f"{clipping.code}, {before} to {clearance}"
    told = f"{words}; handed over already: {', '.join(gone)}" if gone else words
    page = Page(locked.book.key, about_key=clipping.key, details={"words": told})
    locked.enter(Happened.CLEARANCE_CHANGED, page)
    if before != clearance:
        _fall(items, f"source {words}", by=by, event=event)
    return made


@transaction.atomic
def mark_use(
    *, by: Person, clipping: Clipping, item: Item, draft: UseDraft, event: str
) -> Use:
    """Say where a source lies; a source that is new on the current picture lapses it.

    A use that begins with a picture in the folder counts once that picture is up.
    """
    locked = _locked(item, by=by, event=event)
    locked.require(Act.ENTER_SOURCE)
    sent = Use.objects.filter(event=locked.event).first()
    if sent:
        return sent
    before = source_list(item)
    made = clippings.write_use(
        clipping, item, draft, by=by, event=locked.event, now=locked.now
    )
    in_folder = draft.first_shown is not None and not draft.first_shown.is_up
    kind = Happened.SOURCE_PLANNED if in_folder else Happened.SOURCE_MARKED
    details = {"words": clipping.code, "how": draft.how}
    locked.enter(kind, locked.page(about_key=made.key, details=details))
    _fall_if_new(item, before, f"source {clipping.code} marked", by=by, event=event)
    return made


@transaction.atomic
def take_off_use(
    *, by: Person, use: Use, event: str, gone_from: Revision | None = None
) -> Use:
    """Say from which picture on a source is gone; without one, that it never was."""
    locked = _locked(use.item, by=by, event=event)
    locked.require(Act.ENTER_SOURCE)
    use = Use.objects.select_for_update().get(pk=use.pk)
    if use.taken_off_at or happened_already(locked.book.key, locked.event):
        return use
    before, code = source_list(use.item), use.clipping.code
    clippings.end_use(use, gone_from=gone_from, now=locked.now)
    in_folder = gone_from is not None and not gone_from.is_up
    kind = Happened.SOURCE_PLANNED if in_folder else Happened.SOURCE_TAKEN_OFF
    page = locked.page(about_key=use.key, details={"words": f"{code} off"})
    locked.enter(kind, page)
    _fall_if_new(use.item, before, f"source {code} taken off", by=by, event=event)
    return use


@transaction.atomic
def answer_offered(
    *, by: Person, offered: OfferedUse, accepted: bool, event: str
) -> Use | None:
    """Accept a place the search found, which makes it a use, or say it is none."""
    revision, source = offered.revision, offered.clipping
    locked = _locked(revision.item, by=by, event=event)
    locked.require(Act.ENTER_SOURCE)
    offered = OfferedUse.objects.select_for_update().get(pk=offered.pk)
    sent = Use.objects.filter(event=locked.event).first()
    if sent:
        return sent
    clippings.answer_offer(offered, accepted=accepted, by=by, now=locked.now)
    if not accepted:
        return None
    draft = UseDraft("loop", offered.points, revision, HOW[1])
    return mark_use(
        by=by, clipping=source, item=revision.item, draft=draft, event=event
    )


def _lock_for(
    clipping: Clipping, items: list[Item], *, by: Person, event: str
) -> Locked:
    """Lock the source's book through any item of it."""
    if not roles_of(by, clipping.book):
        raise NotFound
    item = items[0] if items else clipping.book.items.order_by("position")[0]
    return lock(item, by=by, event=event, role=Role.RIGHTS)


def _locked(item: Item, *, by: Person, event: str) -> Locked:
    role = hand(by, item.book, Act.ENTER_SOURCE).role
    return lock(item, by=by, event=event, role=role)


def _fall_if_new(
    item: Item, before: tuple[str, ...], because: str, *, by: Person, event: str
) -> None:
    if source_list(item) != before:
        _fall([item], because, by=by, event=event)


def _fall(items: Iterable[Item], because: str, *, by: Person, event: str) -> None:
    """Take clearance off each item that is not handed over, and let it settle."""
    for place, item in enumerate(items):
        locked = lock(item, by=by, event=f"{event[:36]}-{place}")
        if locked.row is not None and not _is_handed_over(locked.item):
            fall(locked, "sources", because)


def _is_handed_over(item: Item) -> bool:
    row = stage_of(item)
    return row is not None and row.standing == Standing.HANDED_OVER
