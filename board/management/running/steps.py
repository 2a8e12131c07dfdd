"""One step of the test command: a program, run in bounded time, and what it counted."""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree

from board.management.running.environment import CHECKOUT

NOTHING_COLLECTED = 5
TAP_COUNT = re.compile(r"^# (pass|fail|skipped|todo) (\d+)$", re.M)


@dataclass(frozen=True)
class Step:
    """A program to run from the checkout; quiet ones speak only when they fail."""

    name: str
    words: Sequence[str]
    env: Mapping[str, str] = field(default_factory=dict)
    counts: str = ""  # "pytest", "tap", or nothing to count
    at_most_s: float = 300.0


@dataclass
class Outcome:
    """What came of one step, or of all of them."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0
    skips: list[str] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)

    def add(self, other: "Outcome") -> None:
        """Take another outcome in."""
        self.passed += other.passed
        self.failed += other.failed
        self.skipped += other.skipped
        self.skips += other.skips
        self.failures += other.failures


def run(step: Step) -> Outcome:
    """Run a step, say how it went, and return what it counted."""
    print(f"{step.name} ...", end="\n" if step.counts == "pytest" else " ", flush=True)  # noqa: T201
    started = time.monotonic()
    if step.counts == "pytest":
        outcome, said = _run_pytest(step)
    else:
        outcome, said = _run_quietly(step)
    took = time.monotonic() - started
    print(f"{'FAILED' if outcome.failed else 'ok'} ({took:.1f} s)", flush=True)  # noqa: T201
    if said:
        print(said, flush=True)  # noqa: T201
    return outcome


def _run_quietly(step: Step) -> tuple[Outcome, str]:
    try:
        done = subprocess.run(  # noqa: S603 - our own words
            step.words,
            cwd=CHECKOUT,
            env={**os.environ, **step.env},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=step.at_most_s,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return _failed(step, "took too long"), ""
    except OSError as problem:
        return _failed(step, str(problem)), ""
    outcome = _count_tap(done.stdout) if step.counts == "tap" else Outcome()
    if done.returncode == 0:
        return outcome, ""
    outcome.failed = max(1, outcome.failed)
    outcome.failures.append(step.name)
    return outcome, done.stdout.rstrip()


def _run_pytest(step: Step) -> tuple[Outcome, str]:
    with tempfile.TemporaryDirectory() as place:
        report = Path(place) / "report.xml"
        words = [sys.executable, "-m", "pytest", f"--junitxml={report}", *step.words]
        try:
            done = subprocess.run(  # noqa: S603 - our own words
                words,
                cwd=CHECKOUT,
                env={**os.environ, **step.env},
                stdin=subprocess.DEVNULL,
                timeout=step.at_most_s,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return _failed(step, "took too long"), ""
        if done.returncode == NOTHING_COLLECTED:
            return Outcome(skipped=1, skips=[f"{step.name}: it holds no tests"]), ""
        if not report.exists():
            return _failed(step, "pytest did not start"), ""
        outcome = _count_junit(step, report)
    if done.returncode and not outcome.failed:
        outcome.failed = 1
    if outcome.failed:
        outcome.failures.append(step.name)
    return outcome, ""


def _count_junit(step: Step, report: Path) -> Outcome:
    """Count pytest's own report; each test it skipped is named with its reason."""
    outcome = Outcome()
    for case in ElementTree.parse(report).iter("testcase"):  # noqa: S314 - just written
        name = f"{case.get('classname')}.{case.get('name')}"
        skip = case.find("skipped")
        if skip is not None:
            outcome.skipped += 1
            outcome.skips.append(f"{step.name}: {name}: {skip.get('message')}")
        elif case.find("failure") is not None or case.find("error") is not None:
            outcome.failed += 1
        else:
            outcome.passed += 1
    return outcome


def _count_tap(said: str) -> Outcome:
    counts = {word: int(number) for word, number in TAP_COUNT.findall(said)}
    skipped = counts.get("skipped", 0) + counts.get("todo", 0)
    skips = [f"scripts: {skipped} of the script tests"] if skipped else []
    return Outcome(counts.get("pass", 0), counts.get("fail", 0), skipped, skips)


def _failed(step: Step, why: str) -> Outcome:
    return Outcome(failed=1, failures=[f"{step.name}: {why}"])
