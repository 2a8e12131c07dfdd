"""The short slip (T11): which initials may be carried past small corrections."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from board.permits import Facet
from board.tissue.rules import Region, Sheet

TOLERANCE_MM = 3.0  # on the printed page; common practice, no source


@dataclass(frozen=True)
class Given:
    """An initial that the new revision took off: who saw which picture, how."""

    key: str
    facet: Facet
    seen: str
    conditions: bool  # it listed something, so its giver looks again


def widened(region: Region, sheet: Sheet) -> Region:
    """A listed region with the tolerance round it."""
    across, down = TOLERANCE_MM / sheet.width_mm, TOLERANCE_MM / sheet.height_mm
    return Region(
        region.x - across,
        region.y - down,
        region.width + 2 * across,
        region.height + 2 * down,
    )


def outside(
    changes: Iterable[Region], listed: Sequence[Region], sheet: Sheet
) -> list[Region]:
    """Changes that lie in no listed region; a short slip needs none."""
    allowed = [widened(region, sheet) for region in listed]
    return [
        change
        for change in changes
        if not any(_within(change, region) for region in allowed)
    ]


def _within(inner: Region, outer: Region) -> bool:
    return (
        inner.x >= outer.x
        and inner.y >= outer.y
        and inner.x + inner.width <= outer.x + outer.width
        and inner.y + inner.height <= outer.y + outer.height
    )
