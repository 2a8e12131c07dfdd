"""After a sitting: its minutes as page, PDF and Markdown."""

from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.models import Person
from board.errors import WrongMove
from board.sittings.models import Sitting
from board.sittings.queries import sitting_for
from board.sittings.queries.minutes import (
    Minutes,
    minutes_for,
    sheets_due,
    waits_for,
)
from board.sittings.queries.papers import as_markdown, as_pdf
from board.sittings.views.planning import person_of


def minutes_page(
    request: HttpRequest, person: Person, sitting: Sitting
) -> HttpResponse:
    """The minutes, the note sheets that may go out, and what waits for the reader."""
    page = {
        "book": sitting.book,
        "sitting": sitting,
        "minutes": minutes_for(person, sitting),
        "sheets": sheets_due(person, sitting),
        "waits": waits_for(person, sitting),
    }
    return render(request, "board/sittings/minutes.html", page)


@login_required
@require_GET
def pdf(request: HttpRequest, key: str) -> HttpResponse:
    """The minutes to print or to keep."""
    minutes = _minutes(request, key)
    body = as_pdf(minutes, _zone())
    return _file(body, "application/pdf", minutes, "pdf")


@login_required
@require_GET
def markdown(request: HttpRequest, key: str) -> HttpResponse:
    """The minutes as plain text with marks."""
    minutes = _minutes(request, key)
    body = as_markdown(minutes, _zone()).encode()
    return _file(body, "text/markdown; charset=utf-8", minutes, "md")


def _minutes(request: HttpRequest, key: str) -> Minutes:
    person = person_of(request)
    sitting = sitting_for(person, key)
    if sitting.closed_at is None:
        raise WrongMove("The minutes stand once the sitting is closed.")
    return minutes_for(person, sitting)


def _zone() -> ZoneInfo:
    """The reader's own clock."""
    return ZoneInfo(timezone.get_current_timezone_name())


def _file(body: bytes, kind: str, minutes: Minutes, end: str) -> HttpResponse:
    answer = HttpResponse(body, content_type=kind)
    name = f"minutes-{minutes.sitting.number}.{end}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
