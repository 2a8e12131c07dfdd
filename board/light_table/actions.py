"""Having pairs of revisions compared, in the background and once each."""

from functools import partial

from django.db import transaction

from accounts.models import Person
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotUnderstood, WrongMove
from board.light_table.models import Comparison
from board.light_table.queries import held_against, last_ok, recipe_of
from board.repro import leases, store
from board.revisions.models import Revision
from board.revisions.queries import is_laid, require_seen

COMPARE = "board.light_table.tasks.compare_pair"


def compare(before: Revision, after: Revision, *, by: Person | None) -> Comparison:
    """The pair's comparison, asked for now if it was not yet; `by` None is the board."""
    if by is not None:
        require_seen(before, by)
        require_seen(after, by)
    if before.item_id != after.item_id:
        raise NotUnderstood("Only two revisions of one item lie over one another.")
    if before.pk == after.pk:
        raise NotUnderstood("Choose two different revisions.")
    for revision in (before, after):
        if not is_laid(revision):
            raise WrongMove(
                f"{revision.filename} is not laid on the sheet yet, so it cannot be "
                "compared. Lay it first."
            )
    return _asked_for(before, after)


@transaction.atomic
def _asked_for(before: Revision, after: Revision) -> Comparison:
    row, new = Comparison.objects.get_or_create(
        before=before, after=after, recipe=recipe_of(before, after)
    )
    if row.work == Comparison.State.FAILED:
        leases.start_over(row, COMPARE)
    elif new:
        leases.ring(COMPARE, row)
        _forget_older(row)
    return row


def _forget_older(row: Comparison) -> None:
    """Drop comparisons of the same pair as it lay before."""
    older = Comparison.objects.filter(before=row.before, after=row.after)
    for old in older.exclude(pk=row.pk):
        old.delete()
        if old.picture:
            transaction.on_commit(partial(store.drop_picture, old.picture))


def after_laid(entry: Entry) -> None:
    """Compare a revision that was just laid, or sent up, with what it is held against.

    That is the one before it and, when that is another, the stage's last OK.
    """
    laid = entry.kind == Happened.LAID and entry.details.get("how")
    if not laid and entry.kind != Happened.SENT_UP:
        return
    after = Revision.objects.select_related("item__book").get(key=entry.about_key)
    agreed = last_ok(after)
    chosen = {one.pk: one for one in (held_against(after), agreed) if one}
    for before in chosen.values():
        if before.pk != after.pk and is_laid(before) and is_laid(after):
            compare(before, after, by=None)
