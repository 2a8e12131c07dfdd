"""What is decided for a whole book at once, and looked at before it is done."""

from typing import Any

from django import forms

from board.books.actions.formats import FormatDraft, StationsDraft
from board.books.forms import LengthField
from board.books.models import Book
from board.books.rules import STAGES
from board.slips.models import Reopening
from board.slips.rules.stations import Asked, preset, table_of

SHORT = {Asked.MUST: "must", Asked.TOLD: "told", Asked.NOT: "not asked"}
DIR = {"dir": "auto"}


class WholeForm(forms.Form):
    """An act on the whole book; `version` says on what it was decided."""

    event = forms.CharField(min_length=8, max_length=40, widget=forms.HiddenInput)
    version = forms.IntegerField(widget=forms.HiddenInput)
    ripple = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, book: Book, **more: Any) -> None:
        """Begin with what holds now; data as Django takes it."""
        self.book = book
        first = {"version": book.version} | self.as_it_is(book)
        more["initial"] = first | more.get("initial", {})
        super().__init__(data, **more)

    def as_it_is(self, book: Book) -> dict[str, Any]:  # whatever the fields hold
        """The fields as the book has them now."""
        return {}


class AlterationForm(WholeForm):
    """Whose alteration it is, why, and who pays."""

    reason = forms.CharField(
        label="Why", max_length=300, widget=forms.TextInput(attrs=DIR)
    )
    code = forms.ChoiceField(
        label="Whose alteration", choices=[("", "choose"), *Reopening.Code.choices]
    )
    payer = forms.CharField(
        label="Who pays", max_length=120, widget=forms.TextInput(attrs=DIR)
    )

    def reasons(self) -> dict[str, str]:
        """The three, as the record keeps them."""
        found = self.cleaned_data
        return {name: str(found[name]) for name in ("reason", "code", "payer")}


class FormatForm(AlterationForm):
    """Trim, bleed and extent; lengths in millimetres."""

    width = LengthField(label="Trim width, one page")
    height = LengthField(label="Trim height")
    bleed = LengthField(label="Bleed")
    extent = forms.IntegerField(label="Extent, pages")
    field_order = ["width", "height", "bleed", "extent", "reason", "code", "payer"]

    def as_it_is(self, book: Book) -> dict[str, Any]:
        return {
            "width": f"{book.trim_width_mm:g}",
            "height": f"{book.trim_height_mm:g}",
            "bleed": f"{book.bleed_mm:g}",
            "extent": book.extent,
        }

    def draft(self) -> FormatDraft:
        """The format to be kept; an untouched length stays exactly what it was."""
        told, book = self.cleaned_data, self.book
        was = (book.trim_width_mm, book.trim_height_mm, book.bleed_mm)
        new = [
            old if f"{old:g}" == f"{said:g}" else said
            for old, said in zip(
                was, (told["width"], told["height"], told["bleed"]), strict=True
            )
        ]
        return FormatDraft(new[0], new[1], new[2], told["extent"])


class StationsForm(WholeForm):
    """Who is asked for what, at which stage."""

    preset = forms.ChoiceField(
        label="The people", choices=Book.Preset.choices, widget=forms.RadioSelect
    )
    author_approves = forms.TypedChoiceField(
        label="By contract, the author",
        choices=[("yes", "approves: must initial"), ("no", "is consulted: is told")],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    notes_at_once = forms.TypedChoiceField(
        label="Notes reach the artist",
        choices=[("no", "collated, on a note sheet"), ("yes", "at once")],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )

    def __init__(self, data: Any = None, *, book: Book, **more: Any) -> None:
        """One choice for each facet and stage of the book's preset."""
        super().__init__(data, book=book, **more)
        studio = book.is_studio
        self.rows = []
        for station, facet, _, asked in table_of(book.stations, studio=studio):
            names = []
            for stage, how in zip(STAGES, asked, strict=True):
                name = f"{facet.value}-{stage.value}"
                self.fields[name] = forms.ChoiceField(
                    label=f"{facet.value} at {stage.value}",
                    choices=[(one.value, word) for one, word in SHORT.items()],
                    initial=how.value,
                    required=False,
                )
                names.append(name)
            self.rows.append((station.value, facet.value, names))

    def as_it_is(self, book: Book) -> dict[str, Any]:
        return {
            "preset": book.preset,
            "author_approves": "yes" if book.author_approves else "no",
            "notes_at_once": "yes" if book.notes_at_once else "no",
        }

    def table(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """Rows of the grid: station, facet, a field a stage."""
        return [
            (station, facet, [self[name] for name in names])
            for station, facet, names in self.rows
        ]

    def draft(self) -> StationsDraft:
        """The stations to be kept; lines that are the preset's are left out."""
        told = self.cleaned_data
        same = told["preset"] == self.book.preset
        own: dict[str, list[str]] = {}
        usual = {
            facet.value: [how.value for how in asked]
            for _, facet, _, asked in preset(studio=self.book.is_studio)
        }
        for _, facet, names in self.rows:
            said = [
                told[name] or usual[facet][place] for place, name in enumerate(names)
            ]
            if same and said != usual[facet]:
                own[facet] = said
        return StationsDraft(
            preset=told["preset"],
            stations=own,
            author_approves=told["author_approves"],
            notes_at_once=told["notes_at_once"],
        )


class WordsForm(AlterationForm):
    """Why words change; code and payer are asked past the sketch OK."""

    code = forms.ChoiceField(
        label="Whose alteration",
        required=False,
        choices=[("", "not asked yet"), *Reopening.Code.choices],
    )
    payer = forms.CharField(
        label="Who pays",
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs=DIR),
    )
    asked_by = forms.CharField(
        label="Who asked",
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs=DIR),
    )

    def as_it_is(self, book: Book) -> dict[str, Any]:
        newest = book.texts.order_by("-number").first()
        return {"version": newest.number if newest else 0}

    def reasons(self) -> dict[str, str]:
        return super().reasons() | {"asked_by": self.cleaned_data["asked_by"]}
