"""The random walk as a program: `python3 manage.py soak --events N --seed S`."""

import os
import sys
from time import monotonic

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.db import transaction  # noqa: E402
from django.test.runner import DiscoverRunner  # noqa: E402

from tests.slips import faults, way  # noqa: E402
from tests.slips.invariants import busiest, hold_for, hold_in_the_end  # noqa: E402
from tests.slips.walk import new_walk  # noqa: E402

AT_ONCE = 200  # a fresh board after so many events, so that each stays as quick
NOW_AND_THEN = 40  # events between two looks at whole tables


def main(events: int, seed: int) -> None:
    """Walk; the first event after which an invariant fails stops it."""
    runner = DiscoverRunner(verbosity=0)
    kept = runner.setup_databases()
    done, begun = 0, monotonic()
    try:
        while done < events:
            with transaction.atomic():
                done += one_board(seed + done, min(AT_ONCE, events - done))
                transaction.set_rollback(True)
            rate = done / (monotonic() - begun)
            print(f"{done} of {events}, {rate:.1f} a second", flush=True)  # noqa: T201
    finally:
        runner.teardown_databases(kept)


def one_board(seed: int, events: int) -> int:
    """Everybody does anything on a board of its own; then the way out is walked."""
    walk = new_walk(seed)
    walk.after = lambda name, item: hold_for(walk, item)
    for count in range(events):
        walk.step()
        if not count % NOW_AND_THEN:
            hold_in_the_end(walk)
    way.to_the_printer(walk)
    hold_in_the_end(walk)
    print(f"seed {seed}: {busiest(walk)}")  # noqa: T201 - its purpose
    return walk.events


def try_faults() -> None:
    """Make each deliberate fault and say which invariant caught it."""
    runner = DiscoverRunner(verbosity=0)
    kept = runner.setup_databases()
    try:
        lines = faults.run(new_walk(1))
        print("\n".join(lines))  # noqa: T201 - its purpose
        assert all(line.startswith("caught") for line in lines)
    finally:
        runner.teardown_databases(kept)


if __name__ == "__main__":
    if sys.argv[1] == "faults":
        try_faults()
    else:
        main(int(sys.argv[1]), int(sys.argv[2]))
