"""Minutes as Markdown and as PDF, and a sitting as a calendar's entry."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from html import escape
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from icalendar import Calendar, Event
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Spacer

from board.repro import faces
from board.sittings.models import Sitting
from board.sittings.queries.minutes import Minute, Minutes

CAUTION = (
    "Decisions in a sitting are not initials: each station still initials itself, and "
    "neither replaces a contract."
)


def _local(moment: datetime | None, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%H:%M}" if moment else ""


def _head(minutes: Minutes, zone: ZoneInfo) -> list[str]:
    sitting = minutes.sitting
    begun = (sitting.opened_at or sitting.starts_at).astimezone(zone)
    lines = [
        f"{begun.day} {begun:%B %Y, %H:%M} to {_local(sitting.closed_at, zone)} "
        f"({zone.key}), {minutes.took}. Chair: {sitting.chair.name}."
    ]
    there = [
        f"{one.sitter.person.name} ({', '.join(one.sitter.roles)}), from "
        f"{_local(one.came_at, zone)}"
        for one in minutes.there
    ]
    lines.append("There: " + ("; ".join(there) or "nobody but the chair") + ".")
    absent = [f"{one.person.name} ({', '.join(one.roles)})" for one in minutes.absent]
    if absent:
        lines.append("Not there: " + "; ".join(absent) + ".")
    return [*lines, *minutes.readings]


def _of_item(one: Minute) -> Iterator[str]:
    for decision in one.decisions:
        last = decision is one.decision
        word = decision.word if last else f"{decision.word} (overruled later)"
        remark = f": {decision.remark}" if decision.remark else ""
        yield f"{word}, ruled by {decision.ruled_by.initials}{remark}"
    for note in one.notes:
        yield f"{note['sort']} ({note['label']}): {note['words']}"
    if one.newer:
        yield f"{one.newer} went up meanwhile; it was not looked at"


def as_markdown(minutes: Minutes, zone: ZoneInfo) -> str:
    """The minutes as CommonMark; people's words are escaped, so they stay words."""
    book, number = minutes.book, minutes.sitting.number
    lines = [f"# Minutes: {_plain(book.title)}, sitting {number}", ""]
    for line in _head(minutes, zone):
        lines += [_plain(line), ""]
    for one in minutes.talked:
        lines += [f"## {_plain(one.item.label)}", ""]
        lines += [_plain(f"{one.called} ({one.code}), {one.took}."), ""]
        lines += [f"- {_plain(told)}" for told in _of_item(one)] + [""]
    quiet = ", ".join(one.item.label for one in minutes.untouched)
    if quiet:
        lines += [_plain(f"Nothing was decided or noted on: {quiet}."), ""]
    return "\n".join([*lines, _plain(CAUTION), ""])


def _plain(words: str) -> str:
    """Words without what CommonMark would read as marks (CommonMark 0.31, section 2.4)."""
    one_line = " ".join(words.split())
    return "".join(
        f"\\{sign}" if sign in "\\`*_[]<>#|&!" else sign for sign in one_line
    )


def _style(size: float, **more: Any) -> ParagraphStyle:  # Any: the library's options
    return ParagraphStyle(
        f"minutes{size}",
        fontName=faces.registered(),
        fontSize=size,
        leading=size * 1.4,
        **more,
    )


def as_pdf(minutes: Minutes, zone: ZoneInfo) -> bytes:
    """The minutes on A4; the caution stands on each page."""
    head, title = _style(15, spaceAfter=6), _style(11, spaceBefore=10, spaceAfter=2)
    text = _style(9.5)
    line = _style(9.4, leftIndent=5 * mm, spaceBefore=1)
    told = f"Minutes: {minutes.book.title}, sitting {minutes.sitting.number}"
    story: list[Any] = [Paragraph(escape(told), head)]
    story += [Paragraph(escape(one), text) for one in _head(minutes, zone)]
    story.append(Spacer(1, 3 * mm))
    for one in minutes.talked:
        named = Paragraph(escape(one.item.label), title)
        which = Paragraph(escape(f"{one.called} ({one.code}), {one.took}."), text)
        lines = [Paragraph(escape(said), line) for said in _of_item(one)]
        story += [KeepTogether([named, which, *lines[:4]]), *lines[4:]]
    quiet = ", ".join(one.item.label for one in minutes.untouched)
    if quiet:
        story.append(Spacer(1, 3 * mm))
        words = f"Nothing was decided or noted on: {quiet}."
        story.append(Paragraph(escape(words), text))
    return _built(told, story)


def _built(title: str, story: list[Any]) -> bytes:
    out = BytesIO()
    sheet = SimpleDocTemplate(
        out,
        pagesize=A4,
        title=title,
        lang="en",
        leftMargin=20 * mm,
        rightMargin=20 * mm,
        topMargin=18 * mm,
        bottomMargin=22 * mm,
    )
    sheet.build(story, onFirstPage=_foot, onLaterPages=_foot)
    return out.getvalue()


def _foot(canvas: Any, sheet: Any) -> None:  # the library's own, without types
    canvas.saveState()
    canvas.setFont(faces.registered(), 7)
    canvas.drawString(20 * mm, 11 * mm, CAUTION)
    canvas.drawRightString(A4[0] - 20 * mm, 11 * mm, str(sheet.page))
    canvas.restoreState()


def as_calendar(sitting: Sitting, address: str) -> bytes:
    """The sitting as an iCalendar entry (RFC 5545), in the zone it was planned in."""
    zone = ZoneInfo(sitting.time_zone)
    entry = Event()
    entry.add("uid", f"{sitting.key}@{settings.BOARD_ADDRESS.split('//')[-1]}")
    entry.add("dtstamp", (sitting.called_off_at or sitting.planned_at).astimezone(UTC))
    entry.add("sequence", sitting.version)
    entry.add("dtstart", sitting.starts_at.astimezone(zone))
    entry.add("duration", timedelta(minutes=sitting.minutes))
    entry.add("summary", f"Sitting {sitting.number}: {sitting.book.title}")
    entry.add("description", f"Chair: {sitting.chair.name}. {sitting.remark}".strip())
    entry.add("url", address)
    entry.add("status", "CANCELLED" if sitting.called_off_at else "CONFIRMED")
    calendar = Calendar()
    calendar.add("prodid", "-//Sheet and Slip//sittings//EN")
    calendar.add("version", "2.0")
    calendar.add_component(entry)
    calendar.add_missing_timezones()
    told: bytes = calendar.to_ical()
    return told
