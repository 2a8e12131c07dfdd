"""One worker at a time, and nothing lost to a kill."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from django_tasks_db import DatabaseBackend
from django_tasks_db.models import DBTaskResult

from board.books.models import Item
from board.checks.tasks import check_revision
from board.clippings.tasks import search_picture
from board.errors import PictureRefused
from board.repro import leases
from board.repro.leases import MOST_ATTEMPTS, Lease, LeaseLost, carry_out, claim, sweep
from board.revisions.models import Revision
from board.revisions.tasks import prepare
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db
State = Revision.State
TASK = "board.revisions.tasks.prepare"


@pytest.fixture
def waiting(cast: Cast, item: Item) -> Revision:
    row = make.revision(of=item, by=cast.illustrator)
    row.work, row.step, row.picture = State.WAITING, "received", ""
    row.save()
    return row


@pytest.fixture
def rung(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    keys: list[str] = []
    monkeypatch.setattr(leases, "_enqueue", lambda _task, key: keys.append(key))
    return keys


def _run_out(row: Revision) -> None:
    past = timezone.now() - timedelta(seconds=1)
    Revision.objects.filter(pk=row.pk).update(lease_until=past)


def test_of_two_workers_one_has_the_row(waiting: Revision) -> None:
    assert claim(Revision, waiting.key, "one") is not None
    assert claim(Revision, waiting.key, "two") is None


def test_a_lease_that_ran_out_is_taken_over_and_the_first_writes_no_more(
    waiting: Revision,
) -> None:
    first = claim(Revision, waiting.key, "one")
    assert first is not None
    _run_out(waiting)
    second = claim(Revision, waiting.key, "two")
    assert second is not None
    with pytest.raises(LeaseLost):
        first.write(step="laid")
    with pytest.raises(LeaseLost):
        first.finish(step="ready")
    second.finish(step="ready")
    waiting.refresh_from_db()
    assert (waiting.work, waiting.attempts) == (State.DONE, 2)


def test_writing_renews_the_lease(waiting: Revision) -> None:
    lease = claim(Revision, waiting.key, "one")
    assert lease is not None
    _run_out(waiting)
    lease.write(step="checked")
    waiting.refresh_from_db()
    assert waiting.lease_until is not None
    assert waiting.lease_until > timezone.now()


def test_a_refusal_ends_the_work_with_its_sentence(waiting: Revision) -> None:
    def refuse(_lease: Lease) -> None:
        raise PictureRefused("It is not a picture. Send another.")

    assert carry_out(Revision, waiting.key, refuse) == "failed"
    waiting.refresh_from_db()
    assert waiting.work == State.FAILED
    assert waiting.failure == "It is not a picture. Send another."


def test_what_nobody_foresaw_gives_the_row_back(waiting: Revision) -> None:
    def break_down(_lease: Lease) -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        carry_out(Revision, waiting.key, break_down)
    waiting.refresh_from_db()
    assert (waiting.work, waiting.attempts) == (State.WAITING, 1)
    assert waiting.lease_owner == ""


def test_three_attempts_are_enough(waiting: Revision, rung: list[str]) -> None:
    for _ in range(MOST_ATTEMPTS):
        assert claim(Revision, waiting.key, "one") is not None
        _run_out(waiting)
    assert claim(Revision, waiting.key, "one") is None
    assert sweep(Revision, TASK) == 0
    waiting.refresh_from_db()
    assert waiting.work == State.FAILED
    assert "Try once more" in waiting.failure
    assert rung == []


def test_the_sweep_rings_again_for_a_killed_worker(
    waiting: Revision, rung: list[str]
) -> None:
    assert claim(Revision, waiting.key, "killed") is not None
    assert sweep(Revision, TASK) == 0  # its lease still runs
    _run_out(waiting)
    assert sweep(Revision, TASK) == 1
    assert rung == [waiting.key]


def test_the_sweep_rings_once_a_minute_and_not_at_every_look(
    waiting: Revision, rung: list[str]
) -> None:
    assert [sweep(Revision, TASK) for _ in range(3)] == [1, 0, 0]
    _run_out(waiting)
    assert sweep(Revision, TASK) == 1
    assert rung == [waiting.key] * 2


def test_the_bell_rings_when_the_row_is_safe(
    waiting: Revision, rung: list[str], django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        leases.start_over(waiting, TASK)
        assert rung == []
    assert rung == [waiting.key]
    waiting.refresh_from_db()
    assert (waiting.work, waiting.attempts, waiting.step) == (State.WAITING, 0, "")


def test_a_picture_just_sent_is_laid_before_checks_and_searches_that_wait() -> None:
    """As the queue itself hands out what came in the other order."""
    queue: Any = DatabaseBackend("default", {})
    tasks = (search_picture, check_revision, prepare)
    for task in tasks:
        queue.enqueue(task, ("key",), {})
    first_to_last = [row.task_path for row in DBTaskResult.objects.ready()]
    assert first_to_last == [task.module_path for task in reversed(tasks)]
