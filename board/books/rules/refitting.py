"""Another trim or extent: where things come to lie, which pages move. Plain values.

A picture does not grow because the trim did: it keeps its size in millimetres and stays
centred on the sheet, and every mark stays on its place in the picture (common practice,
no source).
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from board.books.rules import ItemPlan, Kind

Matrix = list[list[float]]
Name = TypeVar("Name")


@dataclass(frozen=True)
class Refit:
    """How fractions of the old trimmed sheet become fractions of the new one."""

    across: float
    down: float

    @classmethod
    def between(cls, old: tuple[float, float], new: tuple[float, float]) -> "Refit":
        """The step from one trim to another, each (width, height) in millimetres."""
        return cls(old[0] / new[0], old[1] / new[1])

    @property
    def is_still(self) -> bool:
        return self.across == 1 and self.down == 1

    def place(self, x: float, y: float) -> tuple[float, float]:
        """A place in the middle stays there; others keep their millimetres from it."""
        return 0.5 + (x - 0.5) * self.across, 0.5 + (y - 0.5) * self.down

    def places(self, points: Sequence[Sequence[float]]) -> list[list[float]]:
        """Several places, rounded as marks are kept."""
        return [[round(side, 6) for side in self.place(*point)] for point in points]

    def matrix(self, rows: Sequence[Sequence[float]]) -> Matrix:
        """A 3 x 3 matrix onto the old sheet, followed by the step to the new one."""
        first, second, third = rows
        return [
            [self.across * a + (0.5 - 0.5 * self.across) * c
             for a, c in zip(first, third, strict=True)],
            [self.down * b + (0.5 - 0.5 * self.down) * c
             for b, c in zip(second, third, strict=True)],
            list(third),
        ]  # fmt: skip


@dataclass(frozen=True)
class Refitted(Generic[Name]):
    """An item's new place: `plan` is None where the extent leaves none."""

    name: Name | None
    plan: ItemPlan | None


def refitted(
    items: Sequence[tuple[Name, Kind]], plans: Sequence[ItemPlan]
) -> list[Refitted[Name]]:
    """Share the places of a new extent over the items there are, kind by kind.

    Parameters
    ----------
    items : names and kinds in page order, those set aside last of their kind.
    plans : the new extent's places in page order.

    Returns
    -------
    list of Refitted, in the new page order; items without a place come last.
    """
    waiting: dict[Kind, list[Name]] = defaultdict(list)
    for name, kind in items:
        waiting[kind].append(name)
    placed = []
    for plan in plans:
        found = waiting[plan.kind].pop(0) if waiting[plan.kind] else None
        placed.append(Refitted(found, plan))
    left = [name for names in waiting.values() for name in names]
    return placed + [Refitted(name, None) for name in left]
