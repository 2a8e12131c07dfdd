"""Plain questions of the viewing room: points as text, events, words for classes."""

import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from board.errors import NotUnderstood
from board.slips.rules.ripple import Ripple

MOST_POINTS = 400
LEAST_MM, SLIMMEST = 40.0, 0.4  # a crop's shorter side at least, and its shape


@dataclass(frozen=True)
class Crop:
    """A place as a page crops it out of laid pictures; all in mm from the trim's corner.

    `view` is the window and `laid` what a picture covers, each left, top, width, height.
    """

    view: tuple[float, float, float, float]
    laid: tuple[float, float, float, float]
    mark: tuple[float, float, float, float]

    @property
    def view_box(self) -> str:
        return " ".join(f"{side:.1f}" for side in self.view)


def crop_round(
    place: tuple[float, float, float, float],
    *,
    width_mm: float,
    height_mm: float,
    around_mm: float,
) -> Crop:
    """A window round a place given in sheet fractions, enlarged by a margin."""
    x, y = place[0] * width_mm, place[1] * height_mm
    wide, high = place[2] * width_mm, place[3] * height_mm
    margin = 6 + 0.3 * max(wide, high)
    across, down = max(wide + 2 * margin, LEAST_MM), max(high + 2 * margin, LEAST_MM)
    across, down = max(across, SLIMMEST * down), max(down, SLIMMEST * across)
    whole = (width_mm + 2 * around_mm, height_mm + 2 * around_mm)
    across, down = min(across, whole[0]), min(down, whole[1])
    left = min(
        max(x + wide / 2 - across / 2, -around_mm), whole[0] - around_mm - across
    )
    top = min(max(y + high / 2 - down / 2, -around_mm), whole[1] - around_mm - down)
    return Crop(
        (left, top, across, down), (-around_mm, -around_mm, *whole), (x, y, wide, high)
    )


def ripple_told(ripple: Ripple, labels: Mapping[str, str]) -> list[str]:
    """What an act would touch, in sentences; `labels` are the items' by key."""
    told = [
        f"{labels.get(item, item)}, {stage}: {before} becomes {now}."
        for item, stage, before, now in ripple.moves
    ]
    told += [
        f"{labels.get(item, item)}, {stage}: the {facet} initial of {whose} comes off."
        for item, stage, facet, whose in ripple.lapses
    ]
    told += [
        f"{labels.get(item, item)}, {stage}: the {facet} initial of {whose} comes on."
        for item, stage, facet, whose in ripple.comes
    ]
    for label in dict.fromkeys(labels.get(note[0], note[0]) for note in ripple.notes):
        many = sum(labels.get(note[0], note[0]) == label for note in ripple.notes)
        told.append(
            f"{label}: {many} {'note changes' if many == 1 else 'notes change'} state."
        )
    told += _told_of_book(ripple, labels)
    if ripple.ledger:
        lines = "One line" if ripple.ledger == 1 else f"{ripple.ledger} lines"
        told.append(f"{lines} in the ledger of alterations.")
    if ripple.book_slip:
        told.append("The book slip lapses; everybody initials it anew.")
    return told


def _told_of_book(ripple: Ripple, labels: Mapping[str, str]) -> list[str]:
    """Pages that move, lines asked, flags and notes, in sentences."""
    told = []
    for item, before, now in ripple.pages:
        if not before:
            told.append(f"{labels.get(item, now)} is new and begins shut.")
        elif now == "set aside":
            told.append(f"{before} is set aside: no pages are left for it.")
        else:
            told.append(f"{before} becomes pages {now}.")
    lost = {(item, facet) for item, _, facet, _ in ripple.lapses}
    told += [
        f"{labels.get(item, item)}, {stage}: {facet} must be initialled."
        for item, stage, facet in ripple.asked
        if (item, facet) not in lost
    ]
    told += [
        f"{labels.get(item, item)} is flagged: look again." for item in ripple.flags
    ]
    if ripple.seen:
        many = "One note reaches" if len(ripple.seen) == 1 else "Notes reach"
        told.append(f"{many} the artist at once, before any note sheet.")
    if ripple.reading:
        told.append("The reading held on these pictures and words counts no longer.")
    return told


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
