"""What people type about press and paper."""

from django import forms

from board.books.forms import LengthField
from board.checks.actions.press import ConditionDraft
from board.repro.profiles import MOST_BYTES


class PrintingForm(forms.Form):
    """A printing condition; every limit with where it comes from."""

    name = forms.CharField(
        label="Press and paper",
        max_length=120,
        help_text="As the printer calls it: sheet-fed offset, uncoated 150 gsm.",
    )
    profile = forms.FileField(
        label="The printer's ICC profile",
        required=False,
        help_text="A CMYK output profile, up to 8 MB. Empty keeps the one in force.",
    )
    without_profile = forms.BooleanField(
        label="Take the profile away and estimate without", required=False
    )
    ink_limit = forms.FloatField(
        label="Total ink, at most",
        min_value=100,
        max_value=400,
        help_text="300 is what most printers take (common practice).",
    )
    ink_source = forms.CharField(
        label="Where that limit comes from",
        max_length=200,
        help_text="The printer's guide, a standard, common practice, from memory.",
    )
    bleed_mm = LengthField(
        label="Bleed the printer asks for",
        required=False,
        help_text="In millimetres; empty means the book's own.",
    )
    bleed_source = forms.CharField(
        label="Where that comes from", max_length=200, required=False
    )

    def clean_bleed_mm(self) -> float | None:
        """A bleed between none and 25 mm."""
        length: float | None = self.cleaned_data["bleed_mm"]
        if length is not None and not 0 <= length <= 25:
            raise forms.ValidationError("A bleed lies between 0 and 25 mm.")
        return length

    def draft(self) -> ConditionDraft:
        """What was typed and sent; a profile too large is read no further than that."""
        typed = self.cleaned_data
        sent = typed["profile"]
        return ConditionDraft(
            name=typed["name"],
            ink_limit=typed["ink_limit"],
            ink_source=typed["ink_source"],
            bleed_mm=typed["bleed_mm"],
            bleed_source=typed["bleed_source"],
            profile=sent.read(MOST_BYTES + 1) if sent else None,
            without_profile=typed["without_profile"],
        )
