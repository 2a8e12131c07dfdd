"""The tracing: outlines and labels at art size, to lay over or under the art.

Boxes follow ISO 32000-1, 14.11.2: MediaBox is the paper, BleedBox and TrimBox are the
parts of the bled and the trimmed art that lie on that page.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from board.paper.queries import Line, Printed, art_of, region_mm
from board.paper.rules import (
    BAR_MM,
    EDGE_MM,
    FOOT_MM,
    LEFT_MM,
    Art,
    Box,
    Tiling,
    label_places,
    tiling,
)
from board.repro import faces

LINE_MM = 0.35
TICK_MM = 6.0
CROSS_MM = 5.0
POINT_MM = 3.0
COLOURS = {
    # A light cyan that orthochromatic film and a threshold scan leave out; common
    # practice, no source.
    "blue": (0.45, 0.75, 0.93),
    "black": (0.0, 0.0, 0.0),
}


@dataclass(frozen=True)
class Wanted:
    """How somebody wants the tracing: paper, colour of the lines, mirrored or not."""

    paper: str = "a4"
    colour: str = "black"
    mirrored: bool = False


@dataclass(frozen=True)
class Plane:
    """From millimetres of the plane to points on one page."""

    window: Box
    page_height_mm: float
    whole_mm: float
    mirrored: bool

    def at(self, x: float, y: float) -> tuple[float, float]:
        across = self.whole_mm - x if self.mirrored else x
        left = LEFT_MM + across - self.window.x
        top = EDGE_MM + y - self.window.y
        return left * mm, (self.page_height_mm - top) * mm

    def box(self, box: Box) -> tuple[float, float, float, float] | None:
        """Lower left and upper right of what shows of a rectangle on this page."""
        x = self.whole_mm - box.x - box.width if self.mirrored else box.x
        shown = Box(x, box.y, box.width, box.height).shared_with(self.window)
        if shown is None:
            return None
        left = LEFT_MM + shown.x - self.window.x
        top = EDGE_MM + shown.y - self.window.y
        high = self.page_height_mm - top
        return (
            left * mm,
            (high - shown.height) * mm,
            (left + shown.width) * mm,
            high * mm,
        )


def tracing(printed: Printed, wanted: Wanted) -> bytes:
    """Draw the tracing as PDF, a page a tile, and true to size."""
    art = art_of(printed.item)
    spread = tiling(art, wanted.paper)
    size = spread.paper.width_mm * mm, spread.paper.height_mm * mm
    title = f"Tracing: {printed.item.book.title}, {printed.item.label}"
    canvas = Canvas(
        BytesIO(), pagesize=size, lang="en", initialFontName=faces.registered()
    )
    canvas.setTitle(title)
    for number, window in enumerate(spread.windows):
        plane = Plane(window, spread.paper.height_mm, art.size_mm[0], wanted.mirrored)
        _boxes(canvas, plane, art)
        _drawing(canvas, plane, art, printed, COLOURS[wanted.colour])
        _page(canvas, spread, number, printed, wanted)
        canvas.showPage()
    body: bytes = canvas.getpdfdata()
    return body


def _boxes(canvas: Canvas, plane: Plane, art: Art) -> None:
    trim, bled = plane.box(art.trim), plane.box(art.bled)
    if bled:
        canvas.setBleedBox(bled)
    if trim:
        canvas.setTrimBox(trim)


def _drawing(
    canvas: Canvas, plane: Plane, art: Art, printed: Printed, colour: Sequence[float]
) -> None:
    """Draw all that lies on the plane, clipped to what this page shows of it."""
    canvas.saveState()
    window = plane.window
    left, low = LEFT_MM * mm, (plane.page_height_mm - EDGE_MM - window.height) * mm
    shown = canvas.beginPath()
    shown.rect(left, low, window.width * mm, window.height * mm)
    canvas.clipPath(shown, stroke=0)
    canvas.setLineWidth(LINE_MM * mm)
    canvas.setStrokeColorRGB(*colour)
    canvas.setFillColorRGB(*colour)
    _ticks(canvas, plane, art, printed)
    for x, y in art.crosses():
        _cross(canvas, plane, x, y)
    placed = [line for line in printed.lines if line.placed]
    regions = [region_mm(line, printed.item, art) for line in placed]
    found = [
        (line, box)
        for line, box in zip(placed, regions, strict=True)
        if box is not None
    ]
    labels = label_places([box for _, box in found], art.bled)
    for (line, box), label in zip(found, labels, strict=True):
        _outline(canvas, plane, art, line)
        _label(canvas, plane, line, box, label)
    canvas.restoreState()


def _line(canvas: Canvas, one: Sequence[float], other: Sequence[float]) -> None:
    canvas.line(one[0], one[1], other[0], other[1])


def _ticks(canvas: Canvas, plane: Plane, art: Art, printed: Printed) -> None:
    """Trim, bleed, live area and gutter, outside the bled art only."""
    book, scale, bled = printed.item.book, art.scale, art.bled
    safe, gutter = book.safe_mm * scale, book.gutter_mm * scale
    trim = art.trim
    across = [bled.x, trim.x, trim.x + safe]
    across += [bled.x + bled.width - (at - bled.x) for at in across]
    if art.double:
        middle = trim.x + trim.width / 2
        across += [middle, middle - gutter, middle + gutter]
    down = [bled.y, trim.y, trim.y + safe]
    down += [bled.y + bled.height - (at - bled.y) for at in down]
    low, right = bled.y + bled.height, bled.x + bled.width
    for x in across:
        _line(canvas, plane.at(x, bled.y - 1 - TICK_MM), plane.at(x, bled.y - 1))
        _line(canvas, plane.at(x, low + 1), plane.at(x, low + 1 + TICK_MM))
    for y in down:
        _line(canvas, plane.at(bled.x - 1 - TICK_MM, y), plane.at(bled.x - 1, y))
        _line(canvas, plane.at(right + 1, y), plane.at(right + 1 + TICK_MM, y))


def _cross(canvas: Canvas, plane: Plane, x: float, y: float) -> None:
    _line(canvas, plane.at(x - CROSS_MM, y), plane.at(x + CROSS_MM, y))
    _line(canvas, plane.at(x, y - CROSS_MM), plane.at(x, y + CROSS_MM))
    centre = plane.at(x, y)
    canvas.circle(centre[0], centre[1], CROSS_MM / 2 * mm, stroke=1, fill=0)


def _outline(canvas: Canvas, plane: Plane, art: Art, line: Line) -> None:
    """Draw the mark itself: a small cross for a point, else its outline."""
    points = [art.at(x, y) for x, y in line.points]
    if line.mark == "point":
        x, y = points[0]
        _line(canvas, plane.at(x - POINT_MM, y), plane.at(x + POINT_MM, y))
        _line(canvas, plane.at(x, y - POINT_MM), plane.at(x, y + POINT_MM))
        return
    if line.mark == "box":
        (left, top), (right, low) = points[0], points[1]
        points = [(left, top), (right, top), (right, low), (left, low)]
    path = canvas.beginPath()
    for number, (x, y) in enumerate(points):
        place = plane.at(x, y)
        (path.lineTo if number else path.moveTo)(*place)
    path.close()
    if line.sort == "keep":
        canvas.setDash(1, 2)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setDash()


def _label(canvas: Canvas, plane: Plane, line: Line, box: Box, label: Box) -> None:
    """Write the label with its leader line; mirrored when the tracing is."""
    near = (
        min(max(box.x, label.x), label.x + label.width),
        min(max(box.y + box.height / 2, label.y), label.y + label.height),
    )
    edge = (
        min(max(near[0], box.x), box.x + box.width),
        min(max(near[1], box.y), box.y + box.height),
    )
    if math.dist(near, edge) > 0.5:
        _line(canvas, plane.at(*near), plane.at(*edge))
    x, y = plane.at(label.x + 1, label.y + label.height - 1.5)
    canvas.saveState()
    canvas.translate(x, y)
    if plane.mirrored:
        canvas.scale(-1, 1)
    bold = line.sort == "direction"
    canvas.setFont(faces.registered(faces.BOLD if bold else faces.PLAIN), 11)
    canvas.drawString(0, 0, line.label)
    canvas.restoreState()


def _page(
    canvas: Canvas, spread: Tiling, number: int, printed: Printed, wanted: Wanted
) -> None:
    """Draw what helps to print and join: two check bars, a page map, and words."""
    canvas.setLineWidth(LINE_MM * mm)
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.setFillColorRGB(0, 0, 0)
    low = FOOT_MM - 8.0
    _bar(canvas, (LEFT_MM, low), (LEFT_MM + BAR_MM, low))
    upright = FOOT_MM + 8.0
    _bar(canvas, (EDGE_MM + 4.0, upright), (EDGE_MM + 4.0, upright + BAR_MM))
    _map(canvas, spread, number)
    column, row = number % spread.columns, number // spread.columns
    told = [
        f"{printed.item.book.title}, {printed.item.label}: {printed.of_revision}",
        f"Page {number + 1} of {spread.many}: row {row + 1}, column {column + 1}. "
        f"Art size, {printed.item.book.art_percent:g} % of the printed page.",
        "Print at 100 %, never fitted to the page: both bars must measure 100 mm.",
    ]
    if wanted.mirrored:
        told.append("Mirrored: to be traced down from the back.")
    canvas.setFont(faces.registered(), 7.5)
    for step, words in enumerate(told):
        canvas.drawString(LEFT_MM * mm, (low - 5.0 - 3.6 * step) * mm, words)


def _bar(canvas: Canvas, one: Sequence[float], other: Sequence[float]) -> None:
    """Draw a line with a tick at each end, whose middles lie 100 mm apart."""
    lying = one[1] == other[1]
    _line(canvas, [at * mm for at in one], [at * mm for at in other])
    for x, y in (one, other):
        across, down = (0.0, 2.0) if lying else (2.0, 0.0)
        canvas.line(
            (x - across) * mm, (y - down) * mm, (x + across) * mm, (y + down) * mm
        )


def _map(canvas: Any, spread: Tiling, number: int) -> None:
    """Draw the tiles in small, this page filled."""
    if spread.many == 1:
        return
    step = min(12.0 / spread.rows, 5.0)
    left = spread.paper.width_mm - EDGE_MM - step * spread.columns
    for one in range(spread.many):
        column, row = one % spread.columns, one // spread.columns
        x, y = left + column * step, FOOT_MM - 12.0 - row * step
        canvas.rect(
            x * mm, y * mm, step * mm, step * mm, stroke=1, fill=int(one == number)
        )
