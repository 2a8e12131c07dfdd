"""Every check in the order of the page, and what of it stops an OK."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from board.checks.rules import Finding, Level, Measures, Terms
from board.checks.rules.extent import bleed, resolution, size
from board.checks.rules.folds import fold, gutter, sections
from board.checks.rules.inks import gamut, ink, mode
from board.checks.rules.words import contrast, text_plate, texture

CHECKS: tuple[Callable[[Measures, Terms], Finding], ...] = (
    resolution,
    bleed,
    size,
    gutter,
    fold,
    sections,
    contrast,
    texture,
    text_plate,
    gamut,
    ink,
    mode,
)


def judge(seen: Measures, terms: Terms) -> list[Finding]:
    """Hold the measures against the terms: one finding for each check."""
    return [check(seen, terms) for check in CHECKS]


def stop_sentences(findings: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Say "Check at stop: bleed, right edge, 2.0 mm short." for each check at stop."""
    return tuple(
        f"Check at stop: {found['check']}, {found['figure']}."
        for found in findings
        if found["level"] == Level.STOP
    )
