"""The random walk as a program: `python3 manage.py soak --events N --seed S`."""

import os
import sys

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.test.runner import DiscoverRunner  # noqa: E402

from tests.slips import faults  # noqa: E402
from tests.slips.invariants import busiest, hold_for, hold_in_the_end  # noqa: E402
from tests.slips.walk import new_walk  # noqa: E402

AT_ONCE = 500  # a fresh board after so many events, so that each stays as quick


def main(events: int, seed: int) -> None:
    """Walk; the first event after which an invariant fails stops it."""
    runner = DiscoverRunner(verbosity=0)
    kept = runner.setup_databases()
    try:
        for first in range(0, events, AT_ONCE):
            walk = new_walk(seed + first)
            walk.after = lambda name, item, walk=walk: hold_for(walk, item)  # type: ignore[misc]  # bound now
            for _ in range(min(AT_ONCE, events - first)):
                walk.step()
            hold_in_the_end(walk)
            print(f"seed {walk.seed}: {busiest(walk)}")  # noqa: T201 - its purpose
    finally:
        runner.teardown_databases(kept)


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
