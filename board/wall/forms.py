"""What is decided for the whole book from the wall."""

from django import forms

from board.books.rules import STAGES, Standing
from board.wall.rules import Hanging

USUAL = {"size": "middle", "hang": "newest", "look": "colour", "only": ""}
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


class HangForm(forms.Form):
    """How the wall is hung for whoever looks: nothing of it is kept."""

    size = forms.ChoiceField(
        label="Size",
        choices=[("small", "small"), ("middle", "middle"), ("large", "large")],
        required=False,
    )
    hang = forms.ChoiceField(
        label="Pictures",
        choices=[("newest", "newest"), ("agreed", "last OK")],
        required=False,
    )
    look = forms.ChoiceField(
        label="Seen",
        choices=[("colour", "in colour"), ("grey", "in grey"), ("squint", "squinting")],
        required=False,
    )
    only = forms.ChoiceField(
        label="Only",
        choices=[
            ("", "everything"),
            ("mine", "what waits for me"),
            ("directions", "with open directions"),
            ("due", "with a day due"),
            *((word.value, word.value) for word in Standing),
        ],
        required=False,
    )

    def hanging(self) -> Hanging:
        """What was chosen; the usual way where nothing or nonsense was."""
        told = self.cleaned_data if self.is_valid() else {}
        return Hanging(
            size=told.get("size") or "middle",
            agreed=told.get("hang") == "agreed",
            look=told.get("look") or "colour",
            only=told.get("only") or "",
        )
