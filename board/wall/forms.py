"""What is decided for the whole book from the wall."""

from typing import Any

from django import forms

from board.books.rules import STAGES
from board.slips.models import Reopening

STAGE_CHOICES = [(stage.value, stage.value) for stage in STAGES]


class OpenStageForm(forms.Form):
    """Opens a stage on every item that can take it."""

    stage = forms.ChoiceField(
        label="Open", choices=STAGE_CHOICES, widget=forms.RadioSelect
    )
    reason = forms.CharField(
        label="Why earlier stages are left out",
        required=False,
        max_length=300,
        widget=forms.TextInput(attrs={"dir": "auto"}),
        help_text="Only where the book skips a stage: items in which nothing happened "
        "yet waive it for this reason, and the record keeps it. Else leave it empty.",
    )


class ChangeWordsForm(forms.Form):
    """Why words change, and who pays where that is asked."""

    reason = forms.CharField(
        label="Why the words change",
        max_length=300,
        widget=forms.TextInput(attrs={"dir": "auto"}),
    )
    code = forms.ChoiceField(
        label="Whose alteration",
        required=False,
        choices=[("", "not asked yet"), *Reopening.Code.choices],
    )
    payer = forms.CharField(
        label="Who pays",
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs={"dir": "auto"}),
        help_text="Whose alteration and who pays are asked once an item is past its "
        "sketch OK.",
    )

    def reasons(self) -> dict[str, str]:
        """The three, as the record keeps them."""
        found: dict[str, Any] = self.cleaned_data  # words, as Django cleaned them
        return {name: str(found[name]) for name in ("reason", "code", "payer")}
