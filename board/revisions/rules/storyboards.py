"""Frames of a storyboard sheet: lawful corners, and which item each is at first."""

from collections.abc import Sequence
from dataclasses import dataclass

from board.errors import NotUnderstood
from board.revisions.rules import Place

MOST_FRAMES = 60
LEAST_AREA = 0.0004  # of the sheet; a stamp on a large sheet is still larger
SLACK = 0.05  # a corner may lie a little off the photograph
Corners = list[list[float]]
SHEET_STEPS = ("received", "checked", "developed", "ready")
SHEET_STEP_WORDS = {
    "": "Waiting for its turn.",
    "received": "Received. Checking what the file is.",
    "checked": "Checked. Developing the sheet.",
    "developed": "Developed. Looking for the frames.",
    "ready": "The frames are looked for.",
}


@dataclass(frozen=True)
class Frame:
    """One frame: corners in fractions of the sheet, clockwise from top left."""

    item: str
    corners: Corners


def require_frame(corners: Corners) -> None:
    """Raise, in words, unless four corners go round one frame, clockwise."""
    if len(corners) != 4 or any(len(corner) != 2 for corner in corners):
        raise NotUnderstood("A frame needs all four corners, across and down.")
    if not all(-SLACK <= v <= 1 + SLACK for corner in corners for v in corner):
        raise NotUnderstood("A corner lies off the sheet. Move it onto the sheet.")
    turns = [_turn(corners, at) for at in range(4)]
    if min(turns) <= 0:
        raise NotUnderstood(
            "The corners do not go round: top left, top right, bottom right, "
            "bottom left. Put them in that order."
        )
    if _area(corners) < LEAST_AREA:
        raise NotUnderstood("The frame is too small to be looked at. Draw it larger.")


def _turn(corners: Corners, at: int) -> float:
    (ax, ay), (bx, by), (cx, cy) = (corners[(at + step) % 4] for step in range(3))
    return (bx - ax) * (cy - by) - (by - ay) * (cx - bx)


def _area(corners: Corners) -> float:
    pairs = zip(corners, [*corners[1:], corners[0]], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def require_once(frames: Sequence[Frame]) -> None:
    """Raise unless there are frames, each for an item of its own."""
    if not frames:
        raise NotUnderstood("Say for one frame at least which item it is.")
    if len({frame.item for frame in frames}) < len(frames):
        raise NotUnderstood("Two frames are for the same item. Choose another for one.")


def items_for(count: int, places: Sequence[Place]) -> list[str]:
    """Say in reading order which item each frame is; empty where none is left.

    Story spreads first; a sheet with more frames than those shows the single pages too,
    and one with still more all that is drawn for the book.
    """
    groups = (
        [place for place in places if place.story],
        [place for place in places if place.first],
        list(places),
    )
    held = next((group for group in groups if group and count <= len(group)), None)
    keys = [place.key for place in (groups[-1] if held is None else held)]
    return [*keys[:count], *[""] * max(0, count - len(keys))]
