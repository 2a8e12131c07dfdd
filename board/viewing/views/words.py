"""Words change: compared word by word, held against their box, then kept."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from board.books.models import Book, Item, ItemText, TextVersion
from board.books.queries import Manuscript, book_for, items_of_book, manuscript_of
from board.books.queries.typesetting import Fitted, fits, setting_of
from board.books.rules import take_out_art_notes
from board.books.rules.wording import Run, compared, counted
from board.errors import NotFound
from board.permits import Act
from board.slips.actions.texts import make_text_version
from board.viewing.forms.whole import WordsForm
from board.viewing.rules import new_event
from board.viewing.views.room import person_of
from board.viewing.views.whole import taken


@dataclass(frozen=True)
class Beside:
    """An item's old and new words, run by run, and whether the new ones fit."""

    item: Item
    runs: list[Run]
    out: int
    into: int
    fit: Fitted | None


@login_required
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, key: str) -> HttpResponse:
    """Make the next text version; what it takes off is shown before."""
    person = person_of(request)
    book = book_for(person, key, Act.EDIT_TEXT)
    told = manuscript_of(book)
    if not told.number:
        return redirect("books:manuscript", key)
    form = WordsForm(request.POST or None, book=book, initial={"event": new_event()})
    typed = _typed(request, told)

    def do() -> TextVersion:
        return make_text_version(
            by=person,
            book=book,
            words=typed,
            reasons=form.reasons(),
            event=form.cleaned_data["event"],
            on=form.cleaned_data["version"],
        )

    step = taken(request, form, book, do)
    if step.done:
        messages.success(request, "Kept as the next text version.")
        return redirect("viewing:text", key, book.texts.count())
    page = {
        "book": book,
        "manuscript": told.with_draft(typed),
        "form": form,
        "step": step,
        "beside": _beside(book, _changed(told, typed)) if form.is_bound else [],
        "setting": setting_of(book),
    }
    return render(request, "board/viewing/words.html", page, status=step.status)


def _typed(request: HttpRequest, told: Manuscript) -> dict[str, str]:
    """The words as they will be kept; hints stay as they are unless typed anew."""
    typed: dict[str, str] = {}
    for part in told.parts:
        said = request.POST.get(f"words-{part.item.key}")
        if said is not None:
            plain = take_out_art_notes(said.replace("\r\n", "\n"))[0]
            typed[part.item.key] = said if "[" in said else plain
    return typed


def _changed(told: Manuscript, typed: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    """Items whose words differ: (before, after)."""
    found = {}
    for part in told.parts:
        new = take_out_art_notes(typed.get(part.item.key, part.words))[0]
        if new != part.words:
            found[part.item.key] = (part.words, new)
    return found


def _beside(book: Book, words: Mapping[str, tuple[str, str]]) -> list[Beside]:
    items = [item for item in items_of_book(book) if item.key in words]
    for item in items:
        item.book = book
    fitting = fits(book, items, words)
    found = []
    for item in items:
        runs = compared(*words[item.key])
        out, into = counted(runs)
        found.append(Beside(item, runs, out, into, fitting[item.key]))
    return found


@login_required
@require_GET
def version(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """One text version beside the one before it, word by word."""
    person = person_of(request)
    book = book_for(person, key)
    made = book.texts.select_related("by").filter(number=number).first()
    if made is None:
        raise NotFound
    page = {
        "book": book,
        "made": made,
        "beside": _beside(book, _words_of(made)),
        "setting": setting_of(book),
        "numbers": list(book.texts.values_list("number", flat=True)),
    }
    return render(request, "board/viewing/text.html", page)


def _words_of(made: TextVersion) -> dict[str, tuple[str, str]]:
    """Each item the version changed: its words before and in it."""
    before: dict[str, str] = {}
    earlier = ItemText.objects.filter(
        text__book=made.book_id, text__number__lt=made.number
    )
    for part in earlier.select_related("item").order_by("text__number"):
        before[part.item.key] = part.words
    parts = made.parts.select_related("item")
    return {
        part.item.key: (before.get(part.item.key, ""), part.words) for part in parts
    }
