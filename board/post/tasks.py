"""The worker's round with the mail, and the doorbell for it."""

import time

from django_tasks import task

from board.daybook.actions import this_moment
from board.post.actions import look_round
from board.post.actions.sending import send_due
from board.post.queries import books_to_look_at, digests_due, due_rows

ROUND_EVERY_S = 60.0
_rung = {"at": float("-inf")}


@task()
def carry() -> str:
    """Make rows for what is new, then send what is due."""
    made = look_round()
    return f"{made} made, {send_due()} sent"


def sweep() -> int:
    """Ring for a round when there is something to carry, once a minute at the most."""
    if time.monotonic() - _rung["at"] < ROUND_EVERY_S:
        return 0
    _rung["at"] = time.monotonic()
    now = this_moment()
    if due_rows(now)[:1] or books_to_look_at() or digests_due(now):
        carry.enqueue()
        return 1
    return 0
