"""`test`: set up what the tests need and run all of them."""

import shutil
import sys
import time
from argparse import ArgumentParser
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from board.errors import BoardError
from board.management.running import (
    browser,
    front_end,
    services,
    steps,
    suite,
    system_packages,
)
from board.management.running.environment import CHECKOUT

LATE = ("services", "slow", "browser")


class Command(BaseCommand):
    """Run lint, contracts, types, unit, services and browser tests; sum them up."""

    help = "Set up what the tests need, then run everything, cheapest first."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take how much to run, or words for pytest after `--`."""
        parser.add_argument("--fast", action="store_true", help="no services, browser")
        parser.add_argument(
            "--nothing-skipped", action="store_true", help="a skip is a failure"
        )
        parser.add_argument(
            "--keep-going", action="store_true", help="go on after a failing group"
        )
        parser.add_argument("words", nargs="*", help="after --: only this, by pytest")

    def handle(
        self, *, fast: bool, nothing_skipped: bool, words: list[str], **options: Any
    ) -> None:
        """Run and end with the sum."""
        self.keep_going: bool = options["keep_going"]
        started = time.monotonic()
        whole = steps.Outcome()
        try:
            if not fast:
                self.bring_system_packages()
            with front_end.node(keep_in=CHECKOUT / "var" / "node") as path:
                front_end.bring_tools(path)
                front_end.bring_libraries()
                self.run_groups(whole, path, words, fast=fast)
        except BoardError as problem:
            whole.add(steps.Outcome(failed=1, failures=[str(problem)]))
        failed = bool(whole.failed or (nothing_skipped and whole.skips))
        self.sum_up(whole, time.monotonic() - started, failed=failed)
        sys.exit(1 if failed else 0)

    def bring_system_packages(self) -> None:
        """Ask the system for what services, browser and press tests need."""
        there = {
            browser.PACKAGE: browser.find(),
            "redis-server": services.redis_program(),
            "postgresql": services.postgres_programs(),
            "liblcms2-utils": shutil.which("transicc"),
            "libgs-common": next(Path("/usr/share").rglob("default_cmyk.icc"), None),
            "scribus-data": Path("/usr/share/scribus/profiles").is_dir(),
        }
        system_packages.bring(name for name, found in there.items() if not found)

    def run_groups(
        self, whole: steps.Outcome, path: str, words: list[str], *, fast: bool
    ) -> None:
        """Run group by group; after one that failed the rest are only named."""
        with ExitStack() as stack:
            if words:
                chosen = partial(self.chosen_steps, whole, stack, words, fast=fast)
                groups = [suite.Group("chosen", chosen)]
            else:
                groups = suite.early_groups(path)
            if fast and not words:
                whole.skips += [f"{name}: left out by --fast" for name in LATE]
            elif not words:
                groups += self.late_groups(whole, stack)
            reached = True
            for group in groups:
                if reached:
                    for step in group.steps():
                        whole.add(steps.run(step))
                    reached = self.keep_going or not whole.failed
                else:
                    whole.skips.append(f"{group.name}: not reached")

    def late_groups(self, whole: steps.Outcome, stack: ExitStack) -> list[suite.Group]:
        """List what takes long; the services start when their turn comes."""
        return [
            suite.Group(
                "services",
                lambda: suite.service_steps(self.start_services(whole, stack)),
            ),
            suite.Group("slow", suite.slow_steps),
            suite.Group("browser", partial(self.browser_steps, whole)),
        ]

    def chosen_steps(
        self, whole: steps.Outcome, stack: ExitStack, words: list[str], *, fast: bool
    ) -> list[steps.Step]:
        """Run only the tests asked for, with everything around them they may need."""
        found = {} if fast else self.start_services(whole, stack)
        found["BOARD_TEST_CHROMIUM"] = browser.find() or ""
        return suite.chosen(words, found)

    def browser_steps(self, whole: steps.Outcome) -> list[steps.Step]:
        """Run the browser tests where there is a browser."""
        chromium = browser.find()
        if chromium:
            return suite.browser_steps(chromium)
        whole.skips.append("browser: no Chromium (apt-get install chromium)")
        return []

    def start_services(self, whole: steps.Outcome, stack: ExitStack) -> dict[str, str]:
        """Start the services that are here and name those that are not."""
        postgres = services.postgres_programs() is not None
        redis = services.redis_program() is not None
        if not postgres:
            whole.skips.append("PostgreSQL: not here (apt-get install postgresql)")
        if not redis:
            whole.skips.append("Redis: not here (apt-get install redis-server)")
        return stack.enter_context(services.running(postgres=postgres, redis=redis))

    def sum_up(self, whole: steps.Outcome, took: float, *, failed: bool) -> None:
        """Name what failed and what was skipped; the last line is for programs."""
        self.stdout.write("")
        for line in whole.failures:
            self.stdout.write(f"Failed: {line}")
        for line in whole.skips:
            self.stdout.write(f"Skipped: {line}")
        verdict = "FAILED" if failed else "All is well"
        self.stdout.write(f"{verdict} after {took:.0f} s.")
        skipped = max(whole.skipped, len(whole.skips))
        self.stdout.write(
            f"{whole.passed} passed, {whole.failed} failed, {skipped} skipped"
        )
