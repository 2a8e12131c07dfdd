"""Who signs p.p. for whom: named by oneself, for some days."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from accounts.models import Person
from board.books.actions.deputies import end_deputy, name_deputy
from board.books.forms.signing import DeputyForm
from board.books.models import Deputy
from board.books.queries import book_for, pencils, roles_of
from board.books.queries.deputies import deputies_on, today
from board.errors import BoardError, NotFound, NotPermitted
from board.permits import Act, may


@login_required
@require_http_methods(["GET", "POST"])
def deputies(request: HttpRequest, key: str) -> HttpResponse:
    """The deputies of the book; a form names one for oneself."""
    person = cast("Person", request.user)
    act = Act.NAME_DEPUTY if request.method == "POST" else Act.LOOK
    book = book_for(person, key, act)
    form = DeputyForm(request.POST or None, book=book, by=person)
    if form.is_valid():
        event = request.POST.get("event", "")[:64]
        try:
            made = name_deputy(by=person, book=book, draft=form.draft(), event=event)
        except (NotFound, NotPermitted):
            raise
        except BoardError as stopped:
            form.add_error(None, stopped.says)
        else:
            messages.success(
                request, f"{made.person.name} signs p.p. {made.principal.name}."
            )
            return redirect("books:deputies", key)
    page = {
        "book": book,
        "form": form,
        "may_name": may(Act.NAME_DEPUTY, roles_of(person, book)) and form.lines,
        "deputies": deputies_on(book),
        "today": today(),
        "pencils": pencils(book),
        "ending": {
            one.key
            for one in deputies_on(book)
            if person.pk in {one.principal_id, one.person_id}
        },
    }
    status = 422 if form.errors else 200
    return render(request, "board/books/deputies.html", page, status=status)


@login_required
@require_POST
def end(request: HttpRequest, key: str) -> HttpResponse:
    """End a deputy's days now."""
    person = cast("Person", request.user)
    found = Deputy.objects.select_related("book", "person", "principal").filter(key=key)
    deputy = found.first()
    if deputy is None:
        raise NotFound
    book_for(person, deputy.book.key)
    event = request.POST.get("event", "")[:64]
    end_deputy(by=person, deputy=deputy, event=event)
    messages.success(request, f"{deputy.person.name} signs for nobody here any more.")
    return redirect("books:deputies", deputy.book.key)
