"""Pages of checks: one revision's, and a book's printing condition."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from accounts.models import Person
from board.books.queries import book_for, roles_of
from board.checks.actions.press import set_condition
from board.checks.forms import PrintingForm
from board.checks.models import PrintingCondition
from board.checks.queries import checks_for, told_on_sheet
from board.checks.queries.terms import INK_LIMIT, condition_of
from board.checks.rules import Source
from board.errors import NotUnderstood, PictureRefused
from board.permits import Act, may
from board.revisions.queries import called, picture_of, revision_for


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


@login_required
@require_GET
def revision(request: HttpRequest, key: str) -> HttpResponse:
    """Every check of a revision, with its places on the sheet."""
    person = _person(request)
    found = revision_for(person, key)
    checked = checks_for(person, found)
    picture = picture_of(found, person)
    page = {
        "book": found.item.book,
        "item": found.item,
        "revision": found,
        "called": called(found),
        "checked": checked,
        "findings": told_on_sheet(checked, picture.rect if picture else None),
        "picture": picture,
    }
    return render(request, "board/checks/revision.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def printing(request: HttpRequest, key: str) -> HttpResponse:
    """The book's printing condition, and putting another in force."""
    person = _person(request)
    act = Act.SET_PRESS if request.method == "POST" else Act.LOOK
    book = book_for(person, key, act)
    condition = condition_of(book)
    form = PrintingForm(
        request.POST or None, request.FILES or None, initial=_as_typed(condition)
    )
    if form.is_valid():
        try:
            event = request.POST.get("event", "")[:64]
            set_condition(by=person, book=book, draft=form.draft(), event=event)
        except (NotUnderstood, PictureRefused) as refused:
            form.add_error("profile", refused.says)
        else:
            messages.success(
                request, "Kept. Every current picture is checked again with it."
            )
            return redirect("checks:printing", key)
    page = {
        "book": book,
        "condition": condition,
        "form": form,
        "may_set_up": may(Act.SET_PRESS, roles_of(person, book)),
    }
    status = 422 if form.errors else 200
    return render(request, "board/checks/printing.html", page, status=status)


def _as_typed(condition: PrintingCondition | None) -> dict[str, Any]:
    if condition is None:
        return {"ink_limit": INK_LIMIT, "ink_source": Source.PRACTICE.value}
    return {
        "name": condition.name,
        "ink_limit": condition.ink_limit,
        "ink_source": condition.ink_source,
        "bleed_mm": condition.bleed_mm,
        "bleed_source": condition.bleed_source,
    }
