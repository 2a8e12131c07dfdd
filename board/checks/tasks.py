"""Checking a laid picture in the background."""

from functools import partial

from django.db import transaction
from django_tasks import task

from board.checks.actions import CHECK
from board.checks.models import CheckRun
from board.checks.queries import recipe_of, terms_of
from board.checks.rules import Terms
from board.checks.rules.judging import judge
from board.errors import NotUnderstood
from board.repro import leases, store
from board.repro.leases import Lease
from board.repro.pressing import Order, press_apart
from board.repro.profiles import profile_path
from board.revisions.queries import sheet_of

NO_TRIM = (
    "The book has no trim size, so nothing can be measured. Set it, then look again."
)
STRAIGHT_SKIP_MM, LEAST_SKIP_MM, MOST_SKIP_MM = 0.2, 0.4, 1.0


@task()
def check_revision(key: str) -> str:
    """Do the checks of this key, unless somebody does."""
    return leases.carry_out(CheckRun, key, _check)


def sweep() -> int:
    """Ring again for checks that wait or were let fall."""
    return leases.sweep(CheckRun, CHECK)


def _check(lease: Lease) -> None:
    rows = lease.rows().select_related("revision__item__book", "condition")
    run: CheckRun = rows.get()
    revision, condition = run.revision, run.condition
    terms = terms_of(revision, condition)
    if min(terms.sheet_mm) <= 0:
        raise NotUnderstood(NO_TRIM)
    profile = ""
    if condition and condition.profile_sha256:
        profile = str(profile_path(condition.profile_sha256))
    order = Order(
        matrix=revision.matrix or [],
        picture=terms.picture,
        sheet=sheet_of(revision.item),
        double=terms.double,
        gutter_mm=terms.gutter_mm,
        type_boxes=[box for box in terms.boxes if box["sort"] == "type"],
        skip_mm=_skip_mm(terms),
        profile=profile,
        ink_limit=terms.ink_limit,
    )
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


def _skip_mm(terms: Terms) -> float:
    """How far inside the bleed edge a strip may begin: as far as the laying is off."""
    if terms.declared in {"bled", "trimmed"}:
        return STRAIGHT_SKIP_MM
    return max(LEAST_SKIP_MM, min(terms.error_bar_mm, MOST_SKIP_MM))


def _forget_older(run: CheckRun) -> None:
    older = CheckRun.objects.filter(revision=run.revision, asked_at__lt=run.asked_at)
    for old in older.exclude(pk=run.pk):
        old.delete()
        if old.picture:
            transaction.on_commit(partial(store.drop_picture, old.picture))
