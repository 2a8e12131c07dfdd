"""The author's letters: what to look at, what became of her notes, one initial."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from board.books.queries import item_for
from board.errors import NotFound
from board.permits import Act, Facet
from board.revisions.queries import revision_for
from board.slips.actions.initials import initial
from board.slips.actions.notes import raise_note
from board.viewing.actions import remember_look
from board.viewing.forms import CLASSES, InitialForm, NoteForm
from board.viewing.queries.letters import letter_for, letters_of
from board.viewing.views.acts import Asked, answer
from board.viewing.views.room import person_of


@login_required
@require_GET
def letters(request: HttpRequest) -> HttpResponse:
    """Every item of hers that waits or shows something she has not seen."""
    page = {"books": letters_of(person_of(request))}
    return render(request, "board/viewing/letters.html", page)


@login_required
@require_GET
def letter(request: HttpRequest, key: str) -> HttpResponse:
    """One item's letter; that she looked is kept, so that the next says what changed."""
    person = person_of(request)
    item = item_for(person, key, Act.READ_LETTER)
    found = letter_for(person, item)
    page = {
        "letter": found,
        "room": found.room,
        "shown": found.room.shown,
        "item": item,
        "book": item.book,
        "classes": CLASSES,
    }
    drawn = render(request, "board/viewing/letter.html", page)
    remember_look(person, item, found.room.shown.current)
    return drawn


@login_required
@require_POST
def give_initial(request: HttpRequest, key: str) -> HttpResponse:
    """Her initial on exactly the picture and the words that the letter showed."""
    person = person_of(request)
    item = item_for(person, key, Act.READ_LETTER)
    form = InitialForm(request.POST, item=item)
    asked = Asked(
        item=item,
        title="Your initial",
        button="Initial: OK",
        done="Initialled. The slip shows it, and so does the daybook.",
        address=reverse("viewing:letter-initial", args=[key]),
        back=_letter(key),
        facet=Facet.WORDS.value,
    )

    def give() -> object:
        return initial(
            by=person,
            item=item,
            facet=Facet.WORDS.value,
            receipt=form.cleaned_data["receipt"],
            event=form.cleaned_data["event"],
        )

    return answer(request, form, asked, give)


@login_required
@require_POST
def write_note(request: HttpRequest, key: str) -> HttpResponse:
    """A note of hers from the letter; it goes to the editor first."""
    person = person_of(request)
    item = item_for(person, key, Act.READ_LETTER)
    revision = revision_for(person, request.POST.get("revision", ""))
    if revision.item_id != item.pk:
        raise NotFound
    form = NoteForm(request.POST, item=item)
    address = reverse("viewing:new-note", args=[key])
    asked = Asked(
        item=item,
        title="Your note",
        button="Send it to the editor",
        done="Your note waits with the editor; its fate is told here.",
        address=f"{address}?revision={revision.key}",
        back=_letter(key),
    )

    def write() -> object:
        draft, event = form.draft(), form.cleaned_data["event"]
        return raise_note(by=person, on=revision, draft=draft, event=event)

    return answer(request, form, asked, write)


def _letter(key: str) -> str:
    return reverse("viewing:letter", args=[key])
