"""The daybook as a PDF, oldest first, as one reader may read it."""

from datetime import UTC, datetime, tzinfo
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader, simpleSplit
from reportlab.pdfgen.canvas import Canvas

from board.repro import faces
from board.slips.queries.record import Told
from board.viewing.rules.record import CAUTION, CODES, PRACTICE

LEFT, TOP, FOOT = 18 * mm, A4[1] - 18 * mm, 22 * mm
WIDE = A4[0] - 2 * LEFT
TEXT_PT, SMALL_PT, LEADING = 9.0, 7.5, 1.4


class Paper:
    """Pages filled from the top; every one carries the caution and its number."""

    def __init__(self, title: str) -> None:
        # Any: the library has no types
        self.canvas: Any = Canvas(BytesIO(), pagesize=A4, lang="en", invariant=1)
        self.canvas.setTitle(title)
        self.title, self.number = title, 0
        self.y = 0.0
        self._turn()

    def _turn(self) -> None:
        if self.number:
            self.canvas.showPage()
        self.number += 1
        self.y = TOP
        self.canvas.setFont(faces.registered(), 6.5)
        self.canvas.drawString(LEFT, 12 * mm, CAUTION)
        self.canvas.drawRightString(A4[0] - LEFT, 8 * mm, str(self.number))
        self.canvas.drawString(LEFT, 8 * mm, self.title[:90])

    def room(self, height: float) -> None:
        """Turn the page unless so many points are left on it."""
        if self.y - height < FOOT:
            self._turn()

    def write(self, words: str, size: float, *, bold: bool = False) -> None:
        """Set words in lines; those that run from right to left are drawn."""
        if faces.runs_right_to_left(words):
            self._draw(words, size)
            return
        face = faces.registered(faces.BOLD if bold else faces.PLAIN)
        for line in simpleSplit(words, face, size, WIDE):
            self.room(size * LEADING)
            self.y -= size * LEADING
            self.canvas.setFont(face, size)
            self.canvas.drawString(LEFT, self.y, line)

    def _draw(self, words: str, size: float) -> None:
        png, wide, high = faces.drawn(words, size, WIDE)
        self.room(high)
        self.y -= high
        picture = ImageReader(BytesIO(png))
        self.canvas.drawImage(picture, LEFT, self.y, wide, high)

    def gap(self, points: float) -> None:
        self.y -= points


def as_pdf(title: str, told: list[Told], zone: tzinfo) -> bytes:
    """Every entry: who, as what, when in UTC and in the reader's zone, on which state."""
    paper = Paper(title)
    paper.write(title, 15, bold=True)
    paper.gap(4)
    for words in (CAUTION, PRACTICE, CODES):
        paper.write(words, SMALL_PT)
    paper.write(f"Times are UTC, with {zone} beside them. Oldest first.", SMALL_PT)
    day = ""
    for one in told:
        day = _entry(paper, one, zone, day)
    if not told:
        paper.write("Nothing is entered yet that you may read.", TEXT_PT)
    return bytes(paper.canvas.getpdfdata())


def _entry(paper: Paper, one: Told, zone: tzinfo, day: str) -> str:
    utc = one.at.astimezone(UTC)
    today = f"{utc.day} {utc:%B %Y}"
    paper.room(4 * TEXT_PT * LEADING)
    if today != day:
        paper.gap(8)
        paper.write(today, TEXT_PT + 1, bold=True)
    paper.gap(3)
    paper.write(_head(one, utc, zone), SMALL_PT)
    who = f"{one.who}, {one.role}" if one.role else one.who
    where = f" on {one.item}" if one.item else ""
    paper.write(f"{who}{where}: {one.sentence}", TEXT_PT)
    return today


def _head(one: Told, utc: datetime, zone: tzinfo) -> str:
    here = one.at.astimezone(zone)
    parts = [
        f"{one.number}.  {utc:%Y-%m-%d %H:%M} UTC ({here:%H:%M}, {here.day} {here:%b})"
    ]
    if one.stage:
        parts.append(one.stage)
    if one.short_code:
        parts.append(f"picture {one.short_code}")
    if one.text_version is not None:
        parts.append(f"text {one.text_version}")
    return "   ".join(parts)
