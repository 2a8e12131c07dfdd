"""Leases on rows of long work: one worker at a time, and none lost to a kill.

The row is the truth and the queue only a doorbell. A worker claims a row for half a
minute and renews the lease while it works; whatever it writes is written only while it
still owns the row. When it is killed the lease runs out, the sweep rings again and the
next worker repeats the steps, each of which may be repeated.
"""

import os
import secrets
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db import OperationalError, connection, models, transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.module_loading import import_string

from board.errors import BoardError
from board.repro.models import LeasedWork

SOMEBODY_WAITS, AFTER_ALL_ELSE = 50, -50  # priorities of work; the rest is at 0
LEASE_S = 30.0
BEAT_S = 8.0
RING_AGAIN_S = 60.0
MOST_ATTEMPTS = 3
WORE_OUT = (
    "Preparing this picture stopped {times} times before its end. The file you sent is "
    "kept. Try once more; if it stops again, save a flattened copy and send that."
)

State = LeasedWork.State


class LeaseLost(BoardError):
    """Somebody else works on the row now; what is left to do is theirs."""

    status = 409
    says = "Another worker has taken this over."


@dataclass
class Lease:
    """One worker's hold on one row."""

    model: type[models.Model]
    pk: int
    owner: str
    settled: bool = False

    def rows(self) -> "models.QuerySet[Any]":
        """The row, only as long as it is ours."""
        return self.model._default_manager.filter(
            pk=self.pk, lease_owner=self.owner, work=State.WORKING
        )

    def write(self, **fields: Any) -> None:
        """Write on the row, or raise LeaseLost when it is no longer ours."""
        if not self.rows().update(lease_until=_until(LEASE_S), **fields):
            raise LeaseLost

    def finish(self, **fields: Any) -> None:
        """Write the last step and let go."""
        self._settle(work=State.DONE, failure="", **fields)

    def fail(self, failure: str) -> None:
        """Let go with a sentence that says what to do."""
        self._settle(work=State.FAILED, failure=failure)

    def let_go(self) -> None:
        """Give the row back unfinished; the sweep will ring again."""
        self.rows().update(work=State.WAITING, lease_owner="", lease_until=None)
        self.settled = True

    def _settle(self, **fields: Any) -> None:
        if not self.rows().update(lease_owner="", lease_until=None, **fields):
            raise LeaseLost
        self.settled = True


def _until(seconds: float) -> Any:
    return timezone.now() + timedelta(seconds=seconds)


def new_owner() -> str:
    """Name this worker, so that a person can find its process."""
    return f"{socket.gethostname()[:32]}:{os.getpid()}:{secrets.token_hex(4)}"


def _free() -> Q:
    ran_out = Q(work=State.WORKING, lease_until__lt=timezone.now())
    return Q(work=State.WAITING) | ran_out


def claim(model: type[models.Model], key: str, owner: str) -> Lease | None:
    """Take the row for half a minute, unless somebody holds it or it is worn out.

    One UPDATE decides, so two workers cannot both have it on either engine.
    """
    rows = model._default_manager.filter(_free(), key=key, attempts__lt=MOST_ATTEMPTS)
    pk = rows.values_list("pk", flat=True).first()
    if pk is None:
        return None
    taken = rows.filter(pk=pk).update(
        work=State.WORKING,
        lease_owner=owner,
        lease_until=_until(LEASE_S),
        attempts=F("attempts") + 1,
    )
    return Lease(model, pk, owner) if taken else None


@contextmanager
def beating(lease: Lease) -> Iterator[None]:
    """Renew the lease from a thread of its own for as long as the block runs."""
    over = threading.Event()
    beat = threading.Thread(target=_beat, args=(lease, over), daemon=True)
    beat.start()
    try:
        yield
    finally:
        over.set()
        beat.join(timeout=BEAT_S)


def _beat(lease: Lease, over: threading.Event) -> None:
    try:
        while not over.wait(BEAT_S):
            try:
                if not lease.rows().update(lease_until=_until(LEASE_S)):
                    return
            except OperationalError:
                # A busy database; two more beats fit into the lease.
                connection.close()
    finally:
        connection.close()


def carry_out(
    model: type[models.Model], key: str, work: Callable[[Lease], None]
) -> str:
    """Claim the row, do the work under a beating lease, and settle it.

    A `BoardError` ends the work with its sentence; anything unforeseen gives the row
    back for another attempt and goes on up.

    Returns
    -------
    "done", "failed", "lost", or "nothing to do"; for the queue's record only.
    """
    lease = claim(model, key, new_owner())
    if lease is None:
        return "nothing to do"
    try:
        with beating(lease):
            work(lease)
        return "done"
    except LeaseLost:
        lease.settled = True
        return "lost"
    except BoardError as refused:
        return _failed(lease, refused.says)
    finally:
        if not lease.settled:
            lease.let_go()


def _failed(lease: Lease, says: str) -> str:
    try:
        lease.fail(says)
    except LeaseLost:
        lease.settled = True
        return "lost"
    return "failed"


def ring(task: str, row: LeasedWork) -> None:
    """Ring the doorbell once the row is safe; `task` is the dotted name of a task."""
    key = str(getattr(row, "key"))  # noqa: B009  # every leased row has a key
    transaction.on_commit(lambda: _enqueue(task, key))


def _enqueue(task: str, key: str) -> None:
    import_string(task).enqueue(key)


def sweep(model: type[models.Model], task: str) -> int:
    """Ring again for each row that waits or whose lease ran out; gives how many.

    A waiting row is rung for once a minute at the most; a worn-out one is failed.
    """
    _wear_out(model)
    now = timezone.now()
    rung = 0
    due = model._default_manager.filter(_free()).filter(
        Q(lease_until=None) | Q(lease_until__lt=now)
    )
    for pk, key in due.values_list("pk", "key")[:200]:
        # Only one sweeper wins this UPDATE, so a row is rung for once.
        won = due.filter(pk=pk).update(
            work=State.WAITING, lease_owner="", lease_until=_until(RING_AGAIN_S)
        )
        if won:
            _enqueue(task, key)
            rung += 1
    return rung


def worn_out(model: type[models.Model]) -> "models.QuerySet[Any]":
    """Rows that stopped too often before their end; the next sweep fails them."""
    return model._default_manager.filter(_free(), attempts__gte=MOST_ATTEMPTS)


def _wear_out(model: type[models.Model]) -> None:
    worn_out(model).update(
        work=State.FAILED,
        lease_owner="",
        lease_until=None,
        failure=WORE_OUT.format(times=MOST_ATTEMPTS),
    )


def start_over(row: LeasedWork, task: str) -> None:
    """Have the whole work done again from its first step, and ring."""
    row.work, row.step, row.failure = State.WAITING, "", ""
    row.attempts, row.lease_owner, row.lease_until = 0, "", None
    row.save()
    ring(task, row)
