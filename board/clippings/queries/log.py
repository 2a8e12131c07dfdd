"""The permissions log as PDF."""

from datetime import datetime
from html import escape
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Spacer

from board.books.models import Book
from board.clippings.queries.pages import HEADINGS, as_dicts, credit_lines, log_rows
from board.clippings.rules import CAUTION
from board.repro import faces


def _style(size: float, **more: Any) -> ParagraphStyle:  # Any: the library's options
    return ParagraphStyle(
        f"log{size}",
        fontName=faces.registered(),
        fontSize=size,
        leading=size * 1.35,
        **more,
    )


def as_pdf(book: Book, now: datetime) -> bytes:
    """Every source with all that is known of it; the caution stands on each page."""
    head, title, text = _style(15), _style(10.5, spaceBefore=8), _style(8.5)
    story: list[Any] = [
        Paragraph(f"Permissions log: {escape(book.title)}", head),
        Paragraph(f"As of {now:%Y-%m-%d} (UTC). {escape(CAUTION)}", text),
        Spacer(1, 4 * mm),
    ]
    rows = as_dicts(log_rows(book))
    if not rows:
        story.append(Paragraph("No source is entered.", text))
    for row in rows:
        told = [
            Paragraph(f"{name}: {_lines(row[name])}", text)
            for name in HEADINGS[2:]
            if row[name]
        ]
        named = Paragraph(f"{escape(row['source'])}  {escape(row['what'])}", title)
        story += [KeepTogether([named, *told[:6]]), *told[6:]]
    story.append(Paragraph("Credit page", title))
    lines = credit_lines(book) or ["No granted source in use asks for a credit."]
    story += [Paragraph(_lines(line), text) for line in lines]
    return _built(book, story)


def _lines(words: str) -> str:
    return escape(words).replace("\n", "<br/>")


def _built(book: Book, story: list[Any]) -> bytes:
    out = BytesIO()
    sheet = SimpleDocTemplate(
        out,
        pagesize=A4,
        title=f"Permissions log: {book.title}",
        lang="en",
        leftMargin=18 * mm,
        rightMargin=18 * mm,
        topMargin=16 * mm,
        bottomMargin=20 * mm,
    )
    sheet.build(story, onFirstPage=_foot, onLaterPages=_foot)
    return out.getvalue()


def _foot(canvas: Any, sheet: Any) -> None:  # the library's own, without types
    canvas.saveState()
    canvas.setFont(faces.registered(), 7)
    canvas.drawString(18 * mm, 10 * mm, CAUTION)
    canvas.drawRightString(A4[0] - 18 * mm, 10 * mm, str(sheet.page))
    canvas.restoreState()
