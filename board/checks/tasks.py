"""Checking a laid picture in the background."""

from functools import partial

from django.db import transaction
from django_tasks import task

from board.checks.actions import CHECK, tell_over
from board.checks.models import CheckRun
from board.checks.queries.terms import order_of, profile_of, recipe_of, terms_of
from board.checks.rules.judging import judge
from board.errors import NotUnderstood
from board.repro import leases, store
from board.repro.leases import Lease
from board.repro.pressing import press_apart

NO_TRIM = (
    "The book has no trim size, so nothing can be measured. Set it, then look again."
)


@task()
def check_revision(key: str) -> str:
    """Do the checks of this key, unless somebody does."""
    came = leases.carry_out(CheckRun, key, _check)
    if came in {"done", "failed"}:
        tell_over(CheckRun.objects.filter(key=key))
    return came


def sweep() -> int:
    """Ring again for checks that wait or were let fall."""
    worn = set(leases.worn_out(CheckRun).values_list("pk", flat=True))
    rung = leases.sweep(CheckRun, CHECK)
    tell_over(CheckRun.objects.filter(pk__in=worn, work=CheckRun.State.FAILED))
    return rung


def _check(lease: Lease) -> None:
    rows = lease.rows().select_related("revision__item__book", "condition")
    run: CheckRun = rows.get()
    revision, condition = run.revision, run.condition
    terms = terms_of(revision, condition)
    if min(terms.sheet_mm) <= 0:
        raise NotUnderstood(NO_TRIM)
    order = order_of(terms, revision.matrix or [], profile=profile_of(condition))
    onto = f"{run.key}-press"
    original = (revision.sha256, revision.filename)
    seen = press_apart(revision.picture, original, order, onto=onto)
    findings = [found.as_dict() for found in judge(seen, terms)]
    with transaction.atomic():
        # Terms that changed meanwhile rang for a run of their own.
        recipe = recipe_of(revision, terms, condition)
        same = recipe == run.recipe
        lease.finish(step="ready", findings=findings, picture=onto)
        if same:
            _forget_older(run)


def _forget_older(run: CheckRun) -> None:
    older = CheckRun.objects.filter(revision=run.revision, asked_at__lt=run.asked_at)
    for old in older.exclude(pk=run.pk):
        old.delete()
        if old.picture:
            transaction.on_commit(partial(store.drop_picture, old.picture))
