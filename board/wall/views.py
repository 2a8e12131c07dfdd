"""The wall's page."""

from typing import cast

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.models import Person
from board.books.queries import books_for
from board.errors import NotFound
from board.permits import Act, require
from board.slips.queries.sentences import knows
from board.wall.queries import summary, wall_of


@login_required
@require_GET
def wall(request: HttpRequest, key: str) -> HttpResponse:
    """Every item of the book in order, hung on its line."""
    person = cast("Person", request.user)
    book = books_for(person).filter(key=key).first()
    if book is None:
        raise NotFound
    to = knows(person, book)  # the roles come with the names, so one query is spared
    require(Act.LOOK, to.roles)
    hung = wall_of(book, to)
    page = {"book": book, "wall": hung, "summary": summary(hung)}
    return render(request, "board/wall/wall.html", page)
