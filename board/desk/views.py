"""The desk: what waits for me, and why."""

from typing import cast

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.models import Person
from board.desk.queries import desk_of, told


@login_required
@require_GET
def desk(request: HttpRequest) -> HttpResponse:
    """Everything that waits for this person, by book."""
    person = cast("Person", request.user)
    piles = desk_of(person)
    page = {"piles": piles, "told": told(piles)}
    return render(request, "board/desk/desk.html", page)
