"""What is decided for the whole book from the wall."""

from django import forms

from board.books.rules import STAGES

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
