"""How somebody wants paper."""

from django import forms

from board.paper.queries import dummy
from board.paper.queries.tracing import Wanted
from board.paper.rules import OWN, PAPERS

PAPER_CHOICES = [(key, paper.name) for key, paper in PAPERS.items()]


class PaperForm(forms.Form):
    """The paper of a note sheet."""

    paper = forms.ChoiceField(choices=PAPER_CHOICES, initial="a4", required=False)

    def chosen(self) -> str:
        """The paper; A4 where nothing or nonsense was asked for."""
        return (self.is_valid() and self.cleaned_data["paper"]) or "a4"


class TracingForm(forms.Form):
    """Paper, colour and side of a tracing."""

    paper = forms.ChoiceField(
        choices=[*PAPER_CHOICES, (OWN, "one page as large as the art")], initial="a4"
    )
    colour = forms.ChoiceField(
        label="Lines",
        choices=[("black", "black"), ("blue", "light blue, which copies leave out")],
        initial="black",
    )
    mirrored = forms.BooleanField(
        label="mirrored, to trace down from the back", required=False
    )

    def wanted(self) -> Wanted:
        """What the tracing is to be."""
        told = self.cleaned_data
        return Wanted(told["paper"], told["colour"], told["mirrored"])


class DummyForm(forms.Form):
    """Paper, stage and use of a dummy."""

    paper = forms.ChoiceField(choices=PAPER_CHOICES, initial="a4")
    stage = forms.ChoiceField(
        label="Pictures", choices=dummy.STAGE_CHOICES, initial=dummy.NEWEST
    )
    fold = forms.ChoiceField(
        label="For",
        choices=[
            ("", "reading: pages as they meet"),
            ("fold", "folding: print on both sides, turned on the short edge"),
        ],
        required=False,
    )

    def wanted(self) -> dummy.Wanted:
        """What the dummy is to be."""
        told = self.cleaned_data
        return dummy.Wanted(told["paper"], told["stage"], bool(told["fold"]))
