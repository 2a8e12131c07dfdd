"""Whether words fit their type box: lines broken by a face's own widths.

An estimate: no kerning, no hyphens, ragged lines; the designer's page decides.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

MM_A_POINT = 25.4 / 72  # the desktop-publishing point, 1/72 inch


@dataclass(frozen=True)
class Face:
    """A face's measures: advance widths in thousandths of the size, by character."""

    name: str
    widths: Mapping[str, float]
    usual: float

    def width_mm(self, words: str, size_pt: float) -> float:
        """How wide words run at a size, in millimetres."""
        units = sum(self.widths.get(sign, self.usual) for sign in words)
        return units / 1000 * size_pt * MM_A_POINT


@dataclass(frozen=True)
class Setting:
    """Face, size and the distance from line to line, both in points."""

    face: Face
    size_pt: float
    leading_pt: float


@dataclass(frozen=True)
class Fit:
    """Words set into a box: how many lines they make and how many it holds."""

    lines: int
    height_mm: float
    box_mm: float
    widest_mm: float
    box_width_mm: float

    @property
    def holds(self) -> bool:
        return self.height_mm <= self.box_mm and self.widest_mm <= self.box_width_mm

    @property
    def over_mm(self) -> float:
        """How much too high it is; below zero is room to spare."""
        return self.height_mm - self.box_mm


def broken(words: str, width_mm: float, setting: Setting) -> list[str]:
    """Words as lines no wider than the box, first fit; a long word has its own line."""
    lines = []
    for paragraph in words.split("\n"):
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".strip()
            if line and setting.face.width_mm(longer, setting.size_pt) > width_mm:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return lines if words.strip() else []


def fitted(words: str, box_mm: tuple[float, float], setting: Setting) -> Fit:
    """Set words into a box of (width, height) in millimetres.

    The height is that of all lines but the last by leading, and the last by size.
    """
    lines = broken(words, box_mm[0], setting)
    points = max(len(lines) - 1, 0) * setting.leading_pt
    points += setting.size_pt if lines else 0
    widths = [setting.face.width_mm(line, setting.size_pt) for line in lines]
    return Fit(
        lines=len(lines),
        height_mm=points * MM_A_POINT,
        box_mm=box_mm[1],
        widest_mm=max(widths, default=0.0),
        box_width_mm=box_mm[0],
    )


def shared(words: str, boxes: int) -> list[str]:
    """Words over type boxes: a paragraph a box where they agree, else all in the first.

    One text a box, "" where nothing is left; the scripts of the room share alike.
    """
    if not boxes:
        return []
    parts = [part.strip() for part in re.split(r"\n\s*\n", words) if part.strip()]
    if len(parts) > boxes or boxes == 1:
        parts = [words.strip()]
    return parts + [""] * (boxes - len(parts))
