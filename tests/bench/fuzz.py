"""Spoil thousands of files of every kind the board takes in, and count what became of them.

    .venv/bin/python -m tests.bench.fuzz [MANY]

MANY damages of each of the nine samples (560 unless said: 5,040 files), always the same
ones. Goal: every file is developed or refused in words, and the child that decodes them
neither dies nor grows.
"""

import json
import subprocess
import sys
import tempfile
import time

CHILD = """
import resource, runpy, sys
sys.argv = ["hostile", sys.argv[1], sys.argv[2]]
runpy.run_module("tests.repro.hostile", run_name="__main__")
print()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def main(many: int) -> None:
    """Print the counts, what was neither, and the most memory held."""
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        ran = subprocess.run(
            [sys.executable, "-c", CHILD, folder, str(many)],
            capture_output=True,
            text=True,
            check=False,
        )
    took = time.perf_counter() - begun
    if ran.returncode:
        raise SystemExit(f"The child died: {ran.returncode}\n{ran.stderr[-600:]}")
    told, most = ran.stdout.strip().splitlines()[-2:]
    found = json.loads(told)
    counts = found["counts"]
    sys.stdout.write(
        f"{sum(counts.values())} spoiled files in {took:.0f} s: "
        + ", ".join(f"{number} {what}" for what, number in sorted(counts.items()))
        + f"; neither: {len(found['odd'])}; left behind: {len(found['left'])}; "
        f"{float(most):.0f} MB at most\n"
    )
    for odd in found["odd"][:20]:
        sys.stdout.write(f"  {odd}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 560)
