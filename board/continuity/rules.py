"""What must not change from spread to spread, as plain values."""

from collections import Counter
from collections.abc import Mapping, Sequence


def said(value: str) -> str:
    """A value as it is compared: case and spaces do not count."""
    return " ".join(value.split()).casefold()


def usual(values: Mapping[int, str]) -> str:
    """The value most items have; empty when two are as common or all differ."""
    counted = Counter(said(value) for value in values.values() if value.strip())
    top = counted.most_common(2)
    if not top or top[0][1] < 2 or (len(top) == 2 and top[0][1] == top[1][1]):
        return ""
    return next(value for value in values.values() if said(value) == top[0][0])


def odd_ones(values: Mapping[int, str]) -> list[int]:
    """The items whose value is not the usual one.

    Without a usual one (a tie, or all differ) each that has a value is odd, as soon as
    there are two that differ.
    """
    filled = {item: value for item, value in values.items() if value.strip()}
    if len({said(value) for value in filled.values()}) < 2:
        return []
    most = said(usual(filled))
    return [item for item, value in filled.items() if not most or said(value) != most]


def bounds(points: Sequence[Sequence[float]]) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a place: a box's two corners or a loop's many."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)
