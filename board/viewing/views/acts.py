"""Acts on notes and slips: a form on GET, the act on POST, reasons in place."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from accounts.models import Person
from board.books.models import Item
from board.books.queries import item_for
from board.books.queries.deputies import signing_roles
from board.errors import BoardError, NotFound, NotPermitted
from board.permits import Act, require
from board.revisions.queries import revision_for
from board.slips.actions.neighbours import look_again_done
from board.slips.actions.notes import raise_note
from board.slips.actions.references import take_picture_off
from board.slips.actions.ripples import RippleDiffers
from board.slips.queries.lines import flag_for
from board.tissue.models import Note
from board.tissue.queries import NoteSeen, note_for, notes_for, picture_for
from board.viewing.forms import (
    CLASSES,
    ActForm,
    InitialForm,
    MergeForm,
    NoteForm,
    OneWordForm,
    RippleForm,
    as_typed,
)
from board.viewing.queries import Rehearsal, became_now, rehearsal_for
from board.viewing.rules import new_event
from board.viewing.views.note_acts import MAY_WAIT, NOTE_ACTS, NoteAct
from board.viewing.views.ripples import Foreseen, foresee, hold_to, told_ripple
from board.viewing.views.room import person_of
from board.viewing.views.slip_acts import NEEDS, SLIP_ACTS, SlipAct

TO_READ = ("GET", "POST")
QUIET = "This line says done; nothing measured changed there."


@dataclass(frozen=True)
class Asked:
    """An act that is asked for: its form's words and where it goes back to."""

    item: Item
    title: str
    button: str
    done: str
    address: str
    back: str
    caution: str = ""
    about: str = ""
    facet: str = ""
    waits: str = ""  # what it is in the outbox, when it may wait there for the line
    rehearsal: Rehearsal | None = None
    ripple: Foreseen | None = None


@login_required
@require_http_methods(TO_READ)
def new_note(request: HttpRequest, key: str) -> HttpResponse:
    """Raise a note on the revision that the page shows."""
    person = person_of(request)
    item = item_for(person, key, Act.RAISE_NOTE)
    which = request.POST.get("revision") or request.GET.get("revision", "")
    revision = revision_for(person, which)
    if revision.item_id != item.pk:
        raise NotFound
    form = NoteForm(request.POST or None, item=item)
    asked = Asked(
        item=item,
        title="A new note",
        button="Pin the note",
        done="The note is pinned.",
        address=reverse("viewing:new-note", args=[key]) + f"?revision={revision.key}",
        back=_room(item) + f"?revision={revision.key}",
        waits="note",
    )

    def pin() -> object:
        return raise_note(
            by=person,
            on=revision,
            draft=form.draft(),
            event=form.cleaned_data["event"],
        )

    return answer(request, form, asked, pin)


@login_required
@require_http_methods(TO_READ)
def on_note(request: HttpRequest, key: str, act: str) -> HttpResponse:
    """Do something with one note."""
    person = person_of(request)
    note = note_for(person, key)
    if act not in NOTE_ACTS:
        raise NotFound
    chosen = NOTE_ACTS[act]
    form = _note_form(request, chosen, note, person)
    asked = Asked(
        item=note.item,
        title=chosen.title,
        button=chosen.button or chosen.title,
        done=chosen.done,
        address=reverse("viewing:note-act", args=[key, act]),
        back=f"{_room(note.item)}#note-{key}",
        about=_words_of(person, note),
        waits="answer" if act in MAY_WAIT else "",
        caution=_quiet(person, note) if act == "close" else "",
    )

    def do() -> object:
        told = dict(form.cleaned_data)
        if isinstance(form, NoteForm):
            told["draft"] = form.draft()
        return chosen.do(person, note, told)

    return answer(request, form, asked, do)


@login_required
@require_POST
def picture_off(request: HttpRequest, key: str) -> HttpResponse:
    """Take a reference picture off its note."""
    person = person_of(request)
    picture = picture_for(person, key)
    note = picture.note
    form = OneWordForm(request.POST or None, item=note.item)
    asked = Asked(
        item=note.item,
        title="Take the picture off",
        button="Take it off",
        done="The picture is off the note.",
        address=reverse("viewing:picture-off", args=[key]),
        back=f"{_room(note.item)}#note-{note.key}",
    )

    def take() -> object:
        event = form.cleaned_data["event"]
        return take_picture_off(by=person, picture=picture, event=event)

    return answer(request, form, asked, take)


def _note_form(
    request: HttpRequest, act: NoteAct, note: Note, person: Person
) -> ActForm:
    initial = as_typed(note) if act.form is NoteForm else {}
    choices: list[tuple[str, str]] = []
    if act.form is MergeForm:
        seen = notes_for(person, note.item)
        choices = [
            (one.note.key, f"{one.label}: {one.words}")
            for one in seen
            if one.is_open and one.note.pk != note.pk
        ]
    return act.form(
        request.POST or None,
        files=request.FILES or None,
        item=note.item,
        choices=choices,
        initial=initial,
    )


def _quiet(person: Person, note: Note) -> str:
    """Whoever closes a line reads that it says done where nothing changed."""
    became = became_now(person, note)
    return QUIET if became and became.is_quiet else ""


def _words_of(person: Person, note: Note) -> str:
    """The note as this reader reads it."""
    seen: list[NoteSeen] = notes_for(person, note.item)
    return next(
        (f"{one.label}, {note.sort}: {one.words}" for one in seen if one.note == note),
        "",
    )


@login_required
@require_http_methods(TO_READ)
def on_slip(
    request: HttpRequest, key: str, act: str, subject: str = ""
) -> HttpResponse:
    """Do something on the item's slip or with one of its stages."""
    person = person_of(request)
    item = item_for(person, key)
    require(NEEDS.get(act, Act.LOOK), signing_roles(person, item.book))
    if act not in SLIP_ACTS:
        raise NotFound
    chosen = SLIP_ACTS[act]
    ripple = None
    if issubclass(chosen.form, RippleForm) and request.method == "GET":
        ripple = foresee(chosen, person, item, subject)
    form = _slip_form(request, chosen, item, person, subject)
    form.initial["ripple"] = ripple.digest if ripple else ""
    place = [key, act, subject] if subject else [key, act]
    name = "viewing:slip-act-on" if subject else "viewing:slip-act"
    asked = Asked(
        item=item,
        title=chosen.title,
        button=chosen.button or chosen.title,
        done=chosen.done,
        address=reverse(name, args=place),
        back=_room(item) + "#slip",
        caution=chosen.caution,
        facet=subject if len(subject) < 16 else "",
        waits="initial" if issubclass(chosen.form, InitialForm) else "",
        rehearsal=_rehearsal(person, act, subject),
        ripple=ripple,
    )

    def do() -> object:
        told = dict(form.cleaned_data)

        def act_now() -> object:
            return chosen.do(person, item, subject, told)

        if not isinstance(form, RippleForm):
            return act_now()
        return hold_to(told["ripple"], person, item.book, told["event"], act_now)

    return answer(request, form, asked, do)


@login_required
@require_POST
def looked_again(request: HttpRequest, key: str) -> HttpResponse:
    """Say that one looked again beside what was reopened."""
    person = person_of(request)
    flag = flag_for(person, key)
    if flag is None:
        raise NotFound
    event = request.POST.get("event", "")
    look_again_done(by=person, flag=flag, event=event)
    messages.success(request, "Kept: you looked again.")
    return redirect(_room(flag.item) + "#slip")


def _rehearsal(person: Person, act: str, key: str) -> Rehearsal | None:
    """Before sending up the artist sees what the light table measured."""
    return (
        rehearsal_for(person, revision_for(person, key)) if act == "send_up" else None
    )


def _slip_form(
    request: HttpRequest, act: SlipAct, item: Item, person: Person, subject: str
) -> ActForm:
    initial: dict[str, Any] = {}  # a form's first values
    if issubclass(act.form, InitialForm):
        initial["receipt"] = request.GET.get("receipt", "")
    form = act.form(
        request.POST or None,
        item=item,
        choices=act.choices(item, person),
        initial=initial,
    )
    form.offer_checks(act.checks(item, subject))
    return form


def _room(item: Item) -> str:
    return reverse("viewing:item", args=[item.key])


def answer(
    request: HttpRequest, form: ActForm, asked: Asked, do: Callable[[], object]
) -> HttpResponse:
    """Show the form, or do the act; what stands in the way is said in the form."""
    part = request.headers.get("Board-Part") == "yes"
    reasons: tuple[str, ...] = ()
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                do()
            except (NotFound, NotPermitted):
                raise
            except RippleDiffers as differs:
                reasons, status = differs.reasons, differs.status
                asked = _shown_again(request, form, asked, differs)
            except BoardError as error:
                reasons, status = error.reasons, error.status
            else:
                return _done(request, asked, part=part)
    page = {
        "form": form,
        "asked": asked,
        "reasons": reasons or _wrong(form),
        "item": asked.item,
        "book": asked.item.book,
        "classes": CLASSES,
        "rehearsal": asked.rehearsal,
        "plain_fields": not isinstance(form, NoteForm),
    }
    name = "_act.html" if part else "act.html"
    return render(request, f"board/viewing/{name}", page, status=status)


def _shown_again(
    request: HttpRequest, form: ActForm, asked: Asked, differs: RippleDiffers
) -> Asked:
    """The same form with its words kept, over what the act would touch by now."""
    sent = request.POST.copy()
    sent["ripple"] = differs.ripple.digest
    form.data = sent
    return replace(asked, ripple=told_ripple(asked.item.book, differs.ripple))


def _done(request: HttpRequest, asked: Asked, *, part: bool) -> HttpResponse:
    if part:
        page = {"done": asked.done, "event": new_event()}
        return render(request, "board/viewing/_done.html", page)
    messages.success(request, asked.done)
    return redirect(asked.back)


def _wrong(form: ActForm) -> tuple[str, ...]:
    """What the form itself found wrong, in words."""
    found = []
    for name, errors in form.errors.items():
        label = form.fields[name].label if name in form.fields else ""
        found += [f"{label}: {error}" if label else str(error) for error in errors]
    return tuple(dict.fromkeys(found))
