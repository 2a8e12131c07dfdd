"""What people type about books: sizes in either unit, credits, boxes."""

import re
import unicodedata
from fractions import Fraction
from typing import Any, ClassVar

from django import forms
from django.conf import settings

from board.books.actions import BookDraft
from board.books.actions.boxes import Place
from board.books.models import Book, Box
from board.books.rules import Ends, items_of
from board.errors import NotUnderstood
from board.permits import Act, Role, acting_roles, may

MM_PER_INCH = 25.4
SIZES = ("bleed", "safe", "gutter")
HOUSE_MM = {"bleed": 3.0, "safe": 6.35, "gutter": 9.525}
LIMITS_MM = {
    "width": (50, 700),
    "height": (50, 700),
    "bleed": (0, 25),
    "safe": (0, 50),
    "gutter": (0, 50),
}
ROLES = [(role.value, role.value) for role in Role]
DIR = {"dir": "auto"}
FACE = re.compile(r"[\w .'-]*")


class LengthField(forms.Field):
    """A length as people write it: 8.5, 8,5, 8 1/2, 8½ or 1/8."""

    widget = forms.TextInput

    def __init__(self, **options: Any) -> None:  # whatever a field takes
        super().__init__(**options)
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> float | None:  # as Django hands it over
        spaced = "".join(
            f" {sign}" if _is_fraction(sign) else sign for sign in value or ""
        )
        text = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/")
        parts = text.replace(",", ".").strip(' "').split()
        if not parts:
            return None
        try:
            return float(sum(Fraction(part) for part in parts))
        except (ValueError, ZeroDivisionError, OverflowError):
            raise forms.ValidationError(
                "Type a length like 254, 8.5 or 8 1/2.", code="invalid"
            ) from None


def _is_fraction(sign: str) -> bool:
    return unicodedata.category(sign) == "No"


class BookForm(forms.Form):
    """A new book."""

    title = forms.CharField(max_length=200, widget=forms.TextInput(attrs=DIR))
    house = forms.CharField(
        label="House or imprint",
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs=DIR),
    )
    unit = forms.ChoiceField(
        label="Sizes below are in",
        choices=[("mm", "millimetres"), ("in", "inches")],
        widget=forms.RadioSelect,
        initial="mm",
    )
    width = LengthField(label="Trim width, one page")
    height = LengthField(label="Trim height")
    bleed = LengthField(label="Bleed", required=False)
    safe = LengthField(label="Safe margin inside the trim", required=False)
    gutter = LengthField(label="Gutter band, each side", required=False)
    extent = forms.IntegerField(
        label="Extent, pages",
        initial=32,
        help_text="A multiple of 4; 32 is the commonest, 24, 40 and 48 are usual.",
    )
    ends = forms.ChoiceField(
        label="Ends",
        choices=[
            (Ends.SELF.value, "self-ended: the ends come out of the extent"),
            (Ends.SEPARATE.value, "separate ends: extra leaves, not counted"),
        ],
        widget=forms.RadioSelect,
        initial=Ends.SELF.value,
    )
    preset = forms.ChoiceField(
        label="Who looks",
        choices=[
            (
                Book.Preset.HOUSE.value,
                "A house: editor, art director, designer, production, rights, author",
            ),
            (
                Book.Preset.STUDIO.value,
                "A small studio, three stations: the art director for art, production "
                "for press and clearance, the author for words, story and fit",
            ),
        ],
        widget=forms.RadioSelect,
        initial=Book.Preset.HOUSE.value,
    )
    author_approves = forms.TypedChoiceField(
        label="The author, by contract",
        choices=[
            ("yes", "approves: no OK without the author's initials on the words"),
            ("no", "is consulted: told, with a date to answer by"),
        ],
        coerce=lambda said: said == "yes",
        widget=forms.RadioSelect,
        initial="yes",
    )
    notes_at_once = forms.BooleanField(
        label="Notes reach the artist at once",
        required=False,
        help_text="Usually they are collated into one note sheet first. "
        "The author's notes go through the editor either way.",
    )
    roles = forms.MultipleChoiceField(
        label="Your own credits on this book",
        choices=ROLES,
        widget=forms.CheckboxSelectMultiple,
        help_text="One of them must be editor, art director or publisher (in a small "
        "studio the author will do), so that somebody can invite the others.",
    )

    def clean(self) -> dict[str, Any]:
        """Sizes in millimetres, within reason; an extent that folds."""
        found = super().clean() or {}
        self._measure(found)
        roles = [Role(role) for role in found.get("roles", [])]
        studio = found.get("preset") == Book.Preset.STUDIO
        if roles and not may(Act.CREDIT_PEOPLE, acting_roles(roles, studio=studio)):
            self.add_error(
                "roles",
                "With these credits alone nobody could invite people. "
                "Add editor, art director or publisher.",
            )
        if "extent" in found and "ends" in found:
            try:
                items_of(found["extent"], Ends(found["ends"]))
            except NotUnderstood as problem:
                self.add_error("extent", problem.says)
        return found

    def _measure(self, found: dict[str, Any]) -> None:
        to_mm = MM_PER_INCH if found.get("unit") == "in" else 1.0
        for name, (least, most) in LIMITS_MM.items():
            value = found.get(name)
            if value is None:
                found[name] = HOUSE_MM.get(name)
                continue
            found[name] = round(value * to_mm, 3)
            if not least <= found[name] <= most:
                self.add_error(
                    name,
                    f"That is {found[name]:g} mm; between {least} and {most} mm can "
                    "be used. Look at the unit above.",
                )

    def draft(self) -> BookDraft:
        """The book to be made."""
        found = self.cleaned_data
        return BookDraft(
            title=found["title"],
            house=found["house"] or settings.BOARD_HOUSE,
            trim_width_mm=found["width"],
            trim_height_mm=found["height"],
            bleed_mm=found["bleed"],
            safe_mm=found["safe"],
            gutter_mm=found["gutter"],
            extent=found["extent"],
            ends=Ends(found["ends"]),
            preset=found["preset"],
            author_approves=found["author_approves"],
            notes_at_once=found["notes_at_once"],
            roles=[Role(role) for role in found["roles"]],
        )


DAYS = ("days_house", "days_author", "days_artist", "days_corrections")
REASON = {
    "safe_mm": (0, 50, " mm"),
    "gutter_mm": (0, 50, " mm"),
    "art_percent": (50, 200, " %"),
    "type_pt": (4, 200, " pt"),
    "leading_pt": (4, 200, " pt"),
    "words_a_minute": (30, 400, ""),
    **dict.fromkeys(DAYS, (1, 365, " days")),
}


class SettingsForm(forms.ModelForm[Book]):
    """What may change on a book without touching an initial."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    class Meta:
        model = Book
        fields = (
            "title",
            "house",
            "safe_mm",
            "gutter_mm",
            "type_face",
            "type_pt",
            "leading_pt",
            "art_percent",
            "words_a_minute",
            *DAYS,
            "ppi_warn",
            "ppi_stop",
        )
        labels = {
            "house": "House or imprint",
            "safe_mm": "Safe margin inside the trim",
            "gutter_mm": "Gutter band, each side",
            "type_face": "Face of the text",
            "type_pt": "Its size",
            "leading_pt": "Its leading",
            "art_percent": "Art is painted at",
            "words_a_minute": "Reading aloud, words a minute",
            "ppi_warn": "Warn below, effective ppi",
            "ppi_stop": "Stop below, effective ppi",
            "days_house": "Days for a look of the house",
            "days_author": "Days for the author's look",
            "days_artist": "Days from notes to the next revision",
            "days_corrections": "Days for small corrections",
        }
        help_texts: ClassVar = {
            "type_face": "As it is called on the looker's machine; the room shows the "
            "words in their type box in it, or in a plain serif where it is missing."
        }
        widgets = {
            "title": forms.TextInput(attrs=DIR),
            "house": forms.TextInput(attrs=DIR),
            "type_face": forms.TextInput(attrs={"autocomplete": "off"}),
        }

    def clean(self) -> dict[str, Any]:
        """Numbers within reason."""
        found = super().clean() or {}
        for name, (least, most, unit) in REASON.items():
            if not least <= (found.get(name) or 0) <= most:
                told = f"Between {least} and {most}{unit} can be used."
                self.add_error(name, told)
        if not FACE.fullmatch(found.get("type_face") or ""):
            self.add_error("type_face", "A face's name has letters, digits and blanks.")
        if (found.get("ppi_stop") or 0) > (found.get("ppi_warn") or 0):
            self.add_error("ppi_stop", "Stop cannot lie above warn.")
        return found


class InviteForm(forms.Form):
    """Somebody to bring onto the book."""

    name = forms.CharField(
        label="Name", max_length=120, widget=forms.TextInput(attrs=DIR)
    )
    email = forms.EmailField(label="Mail address")
    roles = forms.MultipleChoiceField(
        label="Credited as", choices=ROLES, widget=forms.CheckboxSelectMultiple
    )


class BoxForm(forms.Form):
    """A box on the sheet, in per cent of the trimmed sheet."""

    sort = forms.ChoiceField(label="Sort", choices=Box.Sort.choices)
    label = forms.CharField(
        label="What it holds",
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs=DIR),
    )
    x = LengthField(label="From the left")
    y = LengthField(label="From the top")
    width = LengthField(label="Width")
    height = LengthField(label="Height")

    def place(self) -> Place:
        """The box in fractions of the sheet."""
        sides = (self.cleaned_data[name] for name in ("x", "y", "width", "height"))
        return Place(*(round(side / 100, 5) for side in sides))


class MoveBoxForm(BoxForm):
    """A box that lies there already."""

    sort = None  # type: ignore[assignment]  # Django's way to drop a field
    version = forms.IntegerField(widget=forms.HiddenInput)
