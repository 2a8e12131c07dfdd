"""Pages of a book: making it, its settings, its people, words and boxes."""

from typing import cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from accounts.models import Person
from board.books import actions
from board.books.actions import boxes as laying
from board.books.actions import credits as crediting
from board.books.forms import (
    BookForm,
    BoxForm,
    InviteForm,
    MoveBoxForm,
    SettingsForm,
)
from board.books.models import Book, Box, Credit
from board.books.queries import (
    book_for,
    box_for,
    credit_for,
    credits_on,
    invitation_for,
    invitation_of,
    item_for,
    manuscript_of,
    open_invitations,
    pencils,
    people_on,
    plan_of,
    roles_of,
    roles_unfilled,
)
from board.books.rules import InvitationClosed, extent_table, split_manuscript
from board.errors import NotPermitted
from board.permits import MAY, Act, Role, may

BACKEND = "django.contrib.auth.backends.ModelBackend"


def _person(request: HttpRequest) -> Person:
    return cast("Person", request.user)


def _event(request: HttpRequest) -> str:
    """The id the page gave this act; a resend does nothing."""
    return request.POST.get("event", "")[:64]


@login_required
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """Make a book."""
    person = _person(request)
    if not person.keeps_house:
        raise NotPermitted(
            "Only people who look after the house may make books here. "
            "Ask them to make it and to invite you onto it."
        )
    form = BookForm(request.POST or None, initial={"house": settings.BOARD_HOUSE})
    if form.is_valid():
        made = actions.make_book(by=person, draft=form.draft(), event=_event(request))
        messages.success(
            request, "The book is made. Next: invite the people, paste the words."
        )
        return redirect("books:book", made.key)
    page = {"form": form, "extents": extent_table()}
    status = 422 if form.errors else 200
    return render(request, "board/books/new.html", page, status=status)


@login_required
@require_http_methods(["GET", "POST"])
def book(request: HttpRequest, key: str) -> HttpResponse:
    """What the book is, and its settings."""
    person = _person(request)
    act = Act.SET_UP_BOOK if request.method == "POST" else Act.LOOK
    found = book_for(person, key, act)
    version = found.version
    form = SettingsForm(
        request.POST or None, instance=found, initial={"version": version}
    )
    if form.is_valid():
        changes = dict(form.cleaned_data)
        told = changes.pop("version")
        actions.change_book(found, changes, by=person, version=told)
        messages.success(request, "Kept.")
        return redirect("books:book", key)
    if form.errors:
        found = book_for(person, key)  # the form wrote what was typed onto the other
    roles = roles_of(person, found)
    page = {
        "book": found,
        "form": form,
        "may_set_up": may(Act.SET_UP_BOOK, roles),
        "may_credit": may(Act.CREDIT_PEOPLE, roles),
        "may_edit": may(Act.EDIT_TEXT, roles),
        "may_stations": may(Act.SET_STATIONS, roles),
        "may_format": may(Act.CHANGE_FORMAT, roles),
        "may_ledger": may(Act.READ_LEDGER, roles),
        "unfilled": roles_unfilled(found),
        "items": found.items.filter(set_aside=False),
        "manuscript": manuscript_of(found),
        "people": credits_on(found),
        "pencils": pencils(found),
    }
    status = 422 if form.errors else 200
    return render(request, "board/books/book.html", page, status=status)


@login_required
@require_http_methods(["GET", "POST"])
def people(request: HttpRequest, key: str) -> HttpResponse:
    """Who is credited, and inviting more."""
    person = _person(request)
    act = Act.CREDIT_PEOPLE if request.method == "POST" else Act.LOOK
    found = book_for(person, key, act)
    form = InviteForm(request.POST or None)
    if form.is_valid():
        _bring(request, found, form)
        return redirect("books:people", key)
    may_credit = may(Act.CREDIT_PEOPLE, roles_of(person, found))
    page = {
        "book": found,
        "form": form,
        "may_credit": may_credit,
        "credits": credits_on(found),
        "invitations": open_invitations(found) if may_credit else [],
        "pencils": pencils(found),
        "now": timezone.now(),
    }
    status = 422 if form.errors else 200
    return render(request, "board/books/people.html", page, status=status)


def _bring(request: HttpRequest, found: Book, form: InviteForm) -> None:
    """Credit somebody who is on the book already at once; mail everybody else."""
    typed, by = form.cleaned_data, _person(request)
    roles = [Role(role) for role in typed["roles"]]
    there = people_on(found).filter(email__iexact=typed["email"]).first()
    if there:
        for role in roles:
            crediting.give_credit(book=found, person=there, role=role, by=by)
        messages.success(request, f"{there.name} is credited; they were here already.")
        return
    crediting.invite(
        book=found,
        by=by,
        email=typed["email"],
        name=typed["name"],
        roles=roles,
        event=_event(request),
    )
    if settings.EMAIL_BACKEND.endswith("filebased.EmailBackend"):
        says = (
            f"No mail is set up here: the invitation to {typed['email']} lies as a file "
            "in the folder mail of the board. Pass its link on yourself."
        )
    else:
        says = f"An invitation is on its way to {typed['email']}."
    messages.success(request, says)


@login_required
@require_http_methods(["GET", "POST"])
def end_credit(request: HttpRequest, key: str) -> HttpResponse:
    """Ask, then end a credit."""
    person = _person(request)
    credit = credit_for(person, key, Act.CREDIT_PEOPLE)
    if request.method == "POST":
        crediting.end_credit(credit, by=person, event=_event(request))
        messages.success(
            request, f"{credit.person.name} is no longer credited as {credit.role}."
        )
        still = credit.person != person or roles_of(person, credit.book)
        return redirect("books:people", credit.book.key) if still else redirect("/")
    page = {"credit": credit, "book": credit.book}
    return render(request, "board/books/end_credit.html", page)


@login_required
@require_POST
def withdraw(request: HttpRequest, key: str) -> HttpResponse:
    """Take an invitation back."""
    found = invitation_for(_person(request), key, Act.CREDIT_PEOPLE)
    crediting.withdraw_invitation(found, by=_person(request))
    messages.success(request, f"The invitation to {found.email} is taken back.")
    return redirect("books:people", found.book.key)


def _came_onto(request: HttpRequest, credit: Credit, *, new: bool) -> HttpResponse:
    """Let a new person in; somebody known signs in by their own way.

    An invitation is mailed and lives for days, so it opens no other book of theirs.
    """
    messages.success(request, f"You are on {credit.book.title} now.")
    there = reverse("books:book", args=[credit.book.key])
    if new:
        login(request, credit.person, backend=BACKEND)
    elif request.user != credit.person:
        return redirect(f"{reverse('accounts:sign-in')}?{urlencode({'next': there})}")
    return redirect(there)


@never_cache
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Show what the invitation is about; only the button takes it up."""
    found = invitation_of(token)
    if found is None:
        raise InvitationClosed
    known = Person.objects.filter(email__iexact=found.email).first()
    if request.method == "POST":
        credit = crediting.accept_invitation(token, name=request.POST.get("name", ""))
        return _came_onto(request, credit, new=known is None)
    page = {"invitation": found, "known": known}
    return render(request, "board/books/invitation.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def manuscript(request: HttpRequest, key: str) -> HttpResponse:
    """Paste the words, split them over the spreads, correct, keep as version 1."""
    person = _person(request)
    act = Act.EDIT_TEXT if request.method == "POST" else Act.LOOK
    found = book_for(person, key, act)
    told = manuscript_of(found)
    pasted = request.POST.get("pasted", "")
    drafted: dict[str, str] = {}
    words = {
        part.item.key: request.POST.get(f"words-{part.item.key}", "")
        for part in told.parts
    }
    kept = request.POST.get("do") == "keep" and not told.number
    if kept and (any(words.values()) or not pasted):  # else: pasted, not yet shared
        actions.make_text_version(
            found, words, by=person, reason="first words", event=_event(request)
        )
        messages.success(request, "Kept as text version 1.")
        return redirect("books:manuscript", key)
    if pasted:
        story = [part.item for part in told.parts if part.item.story]
        drafted = {
            item.key: words
            for item, words in zip(
                story, split_manuscript(pasted, len(story)), strict=True
            )
        }
    page = {
        "book": found,
        "manuscript": told.with_draft(drafted),
        "pasted": pasted,
        "editors": MAY[Act.EDIT_TEXT],
        "may_edit": may(Act.EDIT_TEXT, roles_of(person, found)),
    }
    return render(request, "board/books/manuscript.html", page)


@login_required
@require_http_methods(["GET", "POST"])
def boxes(request: HttpRequest, key: str) -> HttpResponse:
    """The type and focal boxes of an item; a form lays a new one."""
    person = _person(request)
    act = Act.PLACE_BOXES if request.method == "POST" else Act.LOOK
    item = item_for(person, key, act)
    form = BoxForm(request.POST or None)
    if form.is_valid():
        laying.place_box(
            item,
            form.place(),
            by=person,
            sort=form.cleaned_data["sort"],
            label=form.cleaned_data["label"],
            event=_event(request),
        )
        messages.success(request, "The box is laid.")
        return redirect("books:boxes", key)
    page = {
        "item": item,
        "book": item.book,
        "form": form,
        "plan": plan_of(item),
        "boxes": [(laid, _moving(laid)) for laid in item.boxes.all()],
        "may_place": may(Act.PLACE_BOXES, roles_of(person, item.book)),
    }
    status = 422 if form.errors else 200
    return render(request, "board/books/boxes.html", page, status=status)


def _moving(laid: Box) -> MoveBoxForm:
    sides = {
        name: f"{getattr(laid, name) * 100:g}" for name in ("x", "y", "width", "height")
    }
    more = {"label": laid.label, "version": laid.version}
    return MoveBoxForm(initial=sides | more, auto_id=f"{laid.key}-%s")


@login_required
@require_POST
def box(request: HttpRequest, key: str) -> HttpResponse:
    """Move, rename or remove a box."""
    person = _person(request)
    laid = box_for(person, key, Act.PLACE_BOXES)
    if request.POST.get("do") == "remove":
        laying.remove_box(laid, by=person)
        messages.success(request, "The box is off the sheet.")
        return redirect("books:boxes", laid.item.key)
    form = MoveBoxForm(request.POST)
    if form.is_valid():
        laying.move_box(
            laid,
            form.place(),
            by=person,
            label=form.cleaned_data["label"],
            version=form.cleaned_data["version"],
        )
        messages.success(request, "The box is moved.")
    else:
        told = [
            f"{form.fields[name].label}: {wrong[0]}"
            for name, wrong in form.errors.items()
        ]
        messages.error(request, "Not moved. " + " ".join(map(str, told)))
    return redirect("books:boxes", laid.item.key)
