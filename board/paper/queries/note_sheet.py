"""The note sheet on paper: big type for the drawing table, crops, room to tick."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from io import BytesIO
from typing import Any

import numpy as np
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)
from reportlab.platypus import Image as Picture

from board.errors import NotFound
from board.paper.queries import Line, Printed, region_mm
from board.paper.rules import PAPERS, Art, Box, label_places
from board.repro import faces
from board.repro.intake import Pixels
from board.repro.laying import preview
from board.repro.sheets import sheet_rect
from board.repro.unlaid import laid_working
from board.revisions.queries import sheet_of

SIDE_MM, HEAD_MM, FOOT_MM = 16.0, 14.0, 18.0
LABEL_W_MM, CROP_W_MM, CROP_H_MM = 22.0, 46.0, 34.0
CROP_AROUND = 0.35  # of the region's own size, left round it
SORTS = {
    "keep": "Keep",
    "direction": "Direction",
    "query": "Query",
    "suggestion": "Suggestion",
    "comment": "Comment",
}


@dataclass(frozen=True)
class Laid:
    """The laid picture's working copy, and what of the sheet it covers."""

    pixels: Pixels  # uint8 (rows, columns, 3)
    x: float
    y: float
    width: float
    height: float

    def cut(self, left: float, top: float, right: float, low: float) -> Pixels:
        """Cut sheet fractions out; what lies beyond the picture is left off."""
        rows, columns = self.pixels.shape[:2]
        x = [(at - self.x) / self.width * columns for at in (left, right)]
        y = [(at - self.y) / self.height * rows for at in (top, low)]
        from_x, to_x = (int(np.clip(at, 0, columns)) for at in x)
        from_y, to_y = (int(np.clip(at, 0, rows)) for at in y)
        cut = self.pixels[
            from_y : max(to_y, from_y + 1), from_x : max(to_x, from_x + 1)
        ]
        return np.ascontiguousarray(cut)


def laid_of(printed: Printed) -> Laid | None:
    """Read the picture under the lines, or nothing when none is laid."""
    revision = printed.revision
    if revision is None or not revision.picture:
        return None
    rect = sheet_rect(sheet_of(printed.item))
    try:
        pixels = laid_working(revision.picture)
    except NotFound:
        return None
    return Laid(pixels, rect.x, rect.y, rect.width, rect.height)


def note_sheets(parts: Sequence[Printed], paper: str, title: str) -> bytes:
    """Set one or more items' lines, each from a new page on."""
    chosen = PAPERS[paper]
    out = BytesIO()
    sheet = SimpleDocTemplate(
        out,
        pagesize=(chosen.width_mm * mm, chosen.height_mm * mm),
        title=title,
        lang="en",
        leftMargin=SIDE_MM * mm,
        rightMargin=SIDE_MM * mm,
        topMargin=HEAD_MM * mm,
        bottomMargin=FOOT_MM * mm,
    )
    width_mm = chosen.width_mm - 2 * SIDE_MM
    story: list[Any] = []
    for number, printed in enumerate(parts):
        story += [PageBreak()] if number else []
        story += _part(printed, width_mm)
    if not parts:
        story = [_words("Nothing is open.", 13)]
    sheet.build(story, onFirstPage=_foot(title), onLaterPages=_foot(title))
    return out.getvalue()


def _part(printed: Printed, width_mm: float) -> Iterable[Any]:
    laid = laid_of(printed)
    book = printed.item.book
    yield _words(f"{book.title}, {printed.item.label}", 19, bold=True)
    said = ", ".join(filter(None, (printed.head, printed.said)))
    yield _words(f"{said}. Lies over {printed.of_revision}.", 10)
    yield Spacer(1, 3 * mm)
    if laid is not None:
        yield Overview(laid, printed, width_mm)
        yield Spacer(1, 3 * mm)
    if printed.words:
        yield _words(printed.words, 11, face=faces.TEXT)
        yield Spacer(1, 4 * mm)
    for line in printed.lines:
        yield CondPageBreak(CROP_H_MM * mm)
        yield _ruled(line, printed, laid, width_mm)
    if not printed.lines:
        yield _words("No line that you may read.", 13)


def _style(size: float, face: str, **more: Any) -> ParagraphStyle:  # the library's own
    return ParagraphStyle(
        f"{face}{size}",
        fontName=faces.registered(face),
        fontSize=size,
        leading=size * 1.35,
        spaceAfter=2,
        **more,
    )


def _words(
    words: str,
    size: float,
    *,
    bold: bool = False,
    face: str = "",
    width_mm: float = 120,
) -> Any:
    """Set a paragraph; one that runs from right to left comes as a picture."""
    if faces.runs_right_to_left(words):
        png, width, height = faces.drawn(words, size, width_mm * mm)
        return Picture(BytesIO(png), width, height)
    name = face or (faces.BOLD if bold else faces.PLAIN)
    return Paragraph(escape(words).replace("\n", "<br/>"), _style(size, name))


def _ruled(line: Line, printed: Printed, laid: Laid | None, width_mm: float) -> Table:
    """Rule one line: label and class, words with a box or a line to answer, crop."""
    bold = line.sort == "direction"
    said: list[Any] = [
        _words(
            line.words, 13, bold=bold, width_mm=width_mm - LABEL_W_MM - CROP_W_MM - 4
        )
    ]
    if line.answer:
        said.append(_words(f"Answered: {line.answer}", 10))
    if bold:
        said.append(Tick("done"))
    if line.sort == "query":
        said += [Rule(), Rule()]
    label = [_words(line.label, 13, bold=True), _words(SORTS[line.sort], 9)]
    row = [label, said, _crop(line, printed, laid)]
    columns = [LABEL_W_MM, width_mm - LABEL_W_MM - CROP_W_MM, CROP_W_MM]
    table = Table([row], colWidths=[one * mm for one in columns], splitInRow=1)
    table.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEABOVE", (0, 0), (-1, 0), 0.5, (0.3, 0.3, 0.3)),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
        ]
    )
    return table


def _crop(line: Line, printed: Printed, laid: Laid | None) -> Any:
    """Show the place of a line, with some picture round it."""
    box = region_mm(line, printed.item, _flat(printed)) if line.placed else None
    if box is None or laid is None:
        return ""
    art = _flat(printed)
    trim = art.trim
    grow_x = max(box.width * CROP_AROUND, 12.0)
    grow_y = max(box.height * CROP_AROUND, 12.0)
    shares = (
        (box.x - grow_x - trim.x) / trim.width,
        (box.y - grow_y - trim.y) / trim.height,
        (box.x + box.width + grow_x - trim.x) / trim.width,
        (box.y + box.height + grow_y - trim.y) / trim.height,
    )
    cut = laid.cut(*shares)
    high, wide = cut.shape[:2]
    scale = min(CROP_W_MM / wide, CROP_H_MM / high)
    return Picture(_as_jpeg(cut), wide * scale * mm, high * scale * mm)


def _flat(printed: Printed) -> Art:
    """The sheet at the size of the book, which is all that proportions need."""
    item = printed.item
    return Art(item.width_mm, item.height_mm, item.book.bleed_mm, double=item.is_double)


def _as_jpeg(cut: Pixels, most: int = 700) -> BytesIO:
    width = min(most, cut.shape[1])
    return BytesIO(preview(cut, width=width, most_bytes=width * 400))


class Overview(Flowable):
    """The bled picture with every mark and label on it."""

    def __init__(self, laid: Laid, printed: Printed, width_mm: float) -> None:
        super().__init__()
        self.laid, self.printed, self.art = laid, printed, _flat(printed)
        bled = self.art.bled
        tall = 110.0 * bled.width / bled.height
        self.width = min(width_mm, tall) * mm
        self.height = self.width * bled.height / bled.width

    def wrap(self, _across: float, _down: float) -> tuple[float, float]:
        """Give the size the library asks for, in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw picture, outlines and labels."""
        art, canvas = self.art, self.canv
        bled, trim = art.bled, art.trim
        left = (bled.x - trim.x) / trim.width
        top = (bled.y - trim.y) / trim.height
        cut = self.laid.cut(left, top, 1 - left, 1 - top)
        body = ImageReader(_as_jpeg(cut, 1600))
        canvas.drawImage(body, 0, 0, self.width, self.height)
        self.scale = self.width / bled.width
        placed = [line for line in self.printed.lines if line.placed]
        regions = [region_mm(line, self.printed.item, art) for line in placed]
        size = (9 * mm * 1.7 / self.scale, 3 * mm * 1.4 / self.scale)
        found = [(line, box) for line, box in zip(placed, regions, strict=True) if box]
        labels = label_places([box for _, box in found], bled, size)
        for (line, box), label in zip(found, labels, strict=True):
            self._mark(line, box, label)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        bled = self.art.bled
        return (x - bled.x) * self.scale, self.height - (y - bled.y) * self.scale

    def _mark(self, line: Line, box: Box, label: Box) -> None:
        canvas = self.canv
        left, low = self._at(box.x, box.y + box.height)
        wide, high = box.width * self.scale, box.height * self.scale
        at = self._at(label.x, label.y + label.height)
        tall = label.height * self.scale
        for shade, thick in ((1.0, 2.4), (0.0, 0.9)):
            canvas.setStrokeColorRGB(shade, shade, shade)
            canvas.setLineWidth(thick)
            canvas.rect(left, low, wide, high, stroke=1, fill=0)
            canvas.line(
                at[0],
                at[1],
                min(max(at[0], left), left + wide),
                min(max(at[1], low), low + high),
            )
        canvas.setFillColorRGB(1, 1, 1)
        words = canvas.stringWidth(line.label, faces.registered(faces.BOLD), 8)
        canvas.rect(at[0], at[1], words + 4, tall, stroke=0, fill=1)
        canvas.setFillColorRGB(0, 0, 0)
        canvas.setFont(faces.registered(faces.BOLD), 8)
        canvas.drawString(at[0] + 2, at[1] + tall * 0.28, line.label)


class Tick(Flowable):
    """A box to tick by hand."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words, self.width, self.height = words, 40 * mm, 7 * mm

    def draw(self) -> None:
        """Draw the box and its word."""
        self.canv.setLineWidth(1)
        self.canv.rect(0, 1 * mm, 4.5 * mm, 4.5 * mm, stroke=1, fill=0)
        self.canv.setFont(faces.registered(), 10)
        self.canv.drawString(7 * mm, 2 * mm, self.words)


class Rule(Flowable):
    """A dotted line to answer on."""

    def __init__(self) -> None:
        super().__init__()
        self.width, self.height = 0.0, 9 * mm

    def wrap(self, across: float, _down: float) -> tuple[float, float]:
        """Take the whole width there is."""
        self.width = across
        return across, self.height

    def draw(self) -> None:
        """Draw it."""
        self.canv.setDash(1, 2)
        self.canv.line(0, 1 * mm, self.width, 1 * mm)


def _foot(title: str) -> Any:  # the library's callback, without types
    def draw(canvas: Any, sheet: Any) -> None:
        canvas.saveState()
        canvas.setFont(faces.registered(), 7.5)
        canvas.drawString(SIDE_MM * mm, 9 * mm, title)
        canvas.drawRightString(
            sheet.pagesize[0] - SIDE_MM * mm, 9 * mm, str(sheet.page)
        )
        canvas.restoreState()

    return draw
