"""Plain questions of the viewing room: points as text, events, words for classes."""

import secrets
from collections.abc import Iterable, Sequence

from board.errors import NotUnderstood

MOST_POINTS = 400


def new_event() -> str:
    """A fresh id for one act, given out with its form; a resend does nothing."""
    return secrets.token_hex(12)


def read_points(text: str) -> list[list[float]]:
    """Points from a field's text, "x,y x,y" in sheet fractions.

    Raises
    ------
    NotUnderstood
        A pair that is not two numbers, or more points than a mark holds.
    """
    pairs = text.split()
    if len(pairs) > MOST_POINTS:
        raise NotUnderstood(f"A mark holds {MOST_POINTS} points; draw it simpler.")
    try:
        points = [[float(value) for value in pair.split(",")] for pair in pairs]
    except ValueError:
        points = [[]]
    if any(len(point) != 2 for point in points):
        raise NotUnderstood('Write points as "x,y x,y", fractions of the sheet.')
    return points


def write_points(points: Iterable[Sequence[float]]) -> str:
    """Points as a row's data and a form's field carry them."""
    return " ".join(f"{x:.5f},{y:.5f}" for x, y in points)


def in_fractions(
    typed: Sequence[float | None], *, unit: str, width_mm: float, height_mm: float
) -> list[list[float]]:
    """Typed numbers x, y, x2, y2 as points on the sheet; empty pairs are left out."""
    across, down = (width_mm, height_mm) if unit == "mm" else (100.0, 100.0)
    pairs = zip(typed[::2], typed[1::2], strict=True)
    return [[x / across, y / down] for x, y in pairs if x is not None and y is not None]
