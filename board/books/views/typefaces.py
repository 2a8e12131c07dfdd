"""The face that words are measured with."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from accounts.models import Person
from board.books.actions.typefaces import measure_with
from board.books.forms.signing import TypeForm
from board.books.queries import book_for, roles_of
from board.books.queries.typesetting import setting_of
from board.errors import NotUnderstood, PictureRefused
from board.permits import Act, may


@login_required
@require_http_methods(["GET", "POST"])
def typeface(request: HttpRequest, key: str) -> HttpResponse:
    """What words are measured with, and setting it."""
    person = cast("Person", request.user)
    act = Act.SET_TYPE if request.method == "POST" else Act.LOOK
    book = book_for(person, key, act)
    form = TypeForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        event = request.POST.get("event", "")[:64]
        try:
            sent = form.cleaned_data["face"].read()
            measure_with(by=person, book=book, face=sent, event=event)
        except (NotUnderstood, PictureRefused) as refused:
            form.add_error("face", refused.says)
        else:
            messages.success(request, "Kept. Words are measured with it from now on.")
            return redirect("books:type", key)
    page = {
        "book": book,
        "form": form,
        "setting": setting_of(book),
        "may_set": may(Act.SET_TYPE, roles_of(person, book)),
    }
    status = 422 if form.errors else 200
    return render(request, "board/books/type.html", page, status=status)
