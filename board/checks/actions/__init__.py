"""Having revisions checked, once for each set of terms."""

from collections.abc import Callable, Iterable

from django.db import transaction
from django.utils import timezone

from board.books.models import Book, Item
from board.checks.models import CheckRun
from board.checks.queries.terms import condition_of, recipe_of, terms_of
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.repro import leases
from board.revisions.models import Revision
from board.revisions.queries import is_laid

CHECK = "board.checks.tasks.check_revision"

Told = Callable[[Item], None]
_told_when_over: list[Told] = []


def when_over(listener: Told) -> None:
    """Have the listener told of each item whose checks are over, done or failed."""
    if listener not in _told_when_over:
        _told_when_over.append(listener)


def tell_over(runs: Iterable[CheckRun]) -> None:
    """Tell the rooms above, which a lower room does not know."""
    for item in (
        Item.objects.filter(revisions__check_runs__in=list(runs))
        .select_related("book")
        .distinct()
    ):
        for listener in _told_when_over:
            listener(item)


@transaction.atomic
def check(revision: Revision) -> CheckRun | None:
    """Ask for the checks of a revision as things stand; nothing while it is not laid."""
    if not is_laid(revision):
        return None
    condition = condition_of(revision.item.book)
    recipe = recipe_of(revision, terms_of(revision, condition), condition)
    now = timezone.now()
    run, new = CheckRun.objects.get_or_create(
        revision=revision,
        recipe=recipe,
        defaults={"asked_at": now, "condition": condition},
    )
    if new:
        leases.ring(CHECK, run)
        return run
    run.asked_at = now
    run.save(update_fields=["asked_at"])
    if run.work == CheckRun.State.FAILED:
        leases.start_over(run, CHECK)
    return run


def check_again(revisions: Iterable[Revision]) -> int:
    """Ask anew for the checks of several; those whose terms are the same do nothing."""
    return sum(check(revision) is not None for revision in revisions)


def counting(items: Iterable[Item]) -> list[Revision]:
    """The revisions whose checks count: the current ones, and what lies in the folder."""
    rows = Revision.objects.filter(item__in=list(items), put_away_at=None)
    rows = rows.select_related("item__book").prefetch_related("item__boxes")
    current: dict[tuple[int, str], Revision] = {}
    folder = []
    for row in rows.order_by("number", "pk"):
        if row.number is None:
            folder.append(row)
        else:
            current[row.item_id, row.stage] = row
    return [row for row in (*current.values(), *folder) if is_laid(row)]


def after_entry(entry: Entry) -> None:
    """Check what was laid, and again when boxes or settings change."""
    if entry.kind in {Happened.LAID, Happened.SENT_UP}:
        found = Revision.objects.select_related("item__book")
        check_again(found.filter(key=entry.about_key))
    elif entry.kind == Happened.BOXES_PLACED:
        check_again(counting(Item.objects.filter(key=entry.item_key)))
    elif entry.kind == Happened.BOOK_CHANGED:
        book = Book.objects.filter(key=entry.book_key)
        check_again(counting(Item.objects.filter(book__in=book)))
