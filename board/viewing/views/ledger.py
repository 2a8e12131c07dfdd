"""The ledger of alterations, for the house."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from board.books.queries import book_for
from board.permits import Act
from board.slips.queries.ledger import ledger_of
from board.viewing.views.room import person_of


@login_required
@require_GET
def ledger(request: HttpRequest, key: str) -> HttpResponse:
    """Whose alteration each was, and who pays."""
    book = book_for(person_of(request), key, Act.READ_LEDGER)
    page = {"book": book, "lines": ledger_of(book)}
    return render(request, "board/viewing/ledger.html", page)
