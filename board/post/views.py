"""One's own mails and calendar; stopping mails from a mail; the calendar's address."""

import hashlib
from typing import cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from accounts.models import Person
from board.books.queries import book_for
from board.errors import NotFound
from board.post.actions import wishes
from board.post.forms import WishesForm
from board.post.queries import books_mailed, read_off_token, trouble_of, wishes_of
from board.post.queries.calendars import calendar_of, feed_of, reader_of_feed
from board.post.rules import hidden_address

TO_READ = ("GET", "POST")


@never_cache
@login_required
@require_http_methods(TO_READ)
def own(request: HttpRequest) -> HttpResponse:
    """Which mails come and when, and the calendar's private address."""
    person = cast("Person", request.user)
    act = request.POST.get("act", "")
    kept = wishes_of(person)
    form = WishesForm(
        request.POST if act == "wishes" else None,
        initial={"digest": kept.digest, "at_once": kept.at_once, "hour": kept.hour},
    )
    secret = ""
    if act == "wishes" and form.is_valid():
        wishes.keep_wishes(person, **form.cleaned_data)
        return _kept(request, "Kept.")
    if act in {"quiet", "loud"}:
        book = book_for(person, request.POST.get("book", ""))
        turn = wishes.stop_mails if act == "quiet" else wishes.want_mails
        turn(person, book)
        return _kept(request, "Kept.")
    if act == "end_feed":
        wishes.end_feed(person)
        return _kept(request, "The calendar's address opens nothing any more.")
    if act == "make_feed":
        secret = wishes.make_feed(person)
    page = {
        "form": form,
        "books": books_mailed(person),
        "trouble": trouble_of(person),
        "feed": feed_of(person),
        "address": _address(secret) if secret else "",
    }
    status = 422 if form.errors else 200
    return render(request, "board/post/own.html", page, status=status)


def _kept(request: HttpRequest, says: str) -> HttpResponse:
    messages.success(request, says)
    return redirect("post:own")


def _address(secret: str) -> str:
    return settings.BOARD_ADDRESS + reverse("post:calendar", args=[secret])


@never_cache
@csrf_exempt  # RFC 8058: a mailbox presses it, without cookies; it only stops mails
@require_http_methods(TO_READ)
def off(request: HttpRequest, token: str) -> HttpResponse:
    """Stop mails by the address in one of them; a button first, for a scanner's sake."""
    person, book = read_off_token(token)
    state = "asked"
    if request.method == "POST":
        state = "on" if request.POST.get("act") == "on" else "off"
        turn = wishes.want_mails if state == "on" else wishes.stop_mails
        turn(person, book)
    page = {"of_book": book, "state": state, "whose": hidden_address(person.email)}
    answer = render(request, "board/post/off.html", page)
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@require_safe
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """The due days of whoever this private address was made for."""
    person = reader_of_feed(secret)
    if person is None:
        raise NotFound
    body = calendar_of(person)
    etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    answer = get_conditional_response(request, etag=etag)
    if answer is None:
        answer = HttpResponse(body, content_type="text/calendar; charset=utf-8")
        answer["Content-Disposition"] = 'inline; filename="due-days.ics"'
    answer["ETag"] = etag
    answer["Cache-Control"] = "private, max-age=600"
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex"
    return answer
