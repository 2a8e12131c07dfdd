"""What people type about a source, and where it lies."""

from typing import Any

from django import forms

from board.books.forms.placing import PlacingForm
from board.clippings.actions.records import FIELDS, GRANT
from board.clippings.models import Clipping
from board.clippings.rules import LONGEST_WORDS, MATTERS, SIDES, Clearance

DIR = {"dir": "auto"}
YES_NO = [("", "not looked yet"), ("yes", "yes"), ("no", "no")]
LABELS = {
    "code": "Code",
    "what": "What it is",
    "made_on": "Made or published on",
    "place": "Where it was made",
    "acquired_at": "Where you got it",
    "acquired_on": "When you got it",
    "part_used": "What part is used",
    "recognisable": "Can it be recognised in the art?",
    "holder_contact": "How to reach the holder",
    "editions": "Editions it covers",
    "e_book": "E-book",
    "copies": "Copies owed",
    "credit_wording": "Credit wording that is asked for",
    "document": "Where the document is kept",
}
LONG = ("part_used", "holder_contact", "credit_wording", "remark")
GROUPS = (
    ("The thing itself", (
        "code", "what", "kind", "maker", "publisher", "made_on", "place", "edition",
        "acquired_at", "acquired_on", "part_used", "recognisable",
    )),
    ("Whose rights", ("rights_holder", "holder_contact", "remark")),
    ("What a grant says", (
        "territory", "languages", "term", "print_run", "editions", "e_book",
        "merchandise", "fee", "copies", "credit_wording", "document",
    )),
)  # fmt: skip


class SourceForm(forms.ModelForm[Clipping]):
    """The record of a source; what a grant says is asked of rights only."""

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = Clipping
        fields = sorted(FIELDS - {"matters"})
        labels = LABELS

    def __init__(self, *args: Any, judges: bool = False, **options: Any) -> None:
        # Any: whatever a model form takes
        super().__init__(*args, **options)
        if not judges:
            for name in GRANT:
                del self.fields[name]
        choice = forms.ChoiceField(
            choices=YES_NO, required=False, label=LABELS["recognisable"]
        )
        self.fields["recognisable"] = choice
        held = self.instance.matters or {}
        for name, words in MATTERS.items():
            self.fields[f"has_{name}"] = forms.ChoiceField(
                label=words.capitalize(),
                choices=YES_NO,
                required=False,
                initial=held.get(name, ""),
            )
        for name, field in self.fields.items():
            if isinstance(field, forms.CharField):
                field.widget.attrs |= DIR
                if name in LONG:
                    field.max_length = LONGEST_WORDS

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields as the page groups them."""
        found = [
            (title, [self[name] for name in names if name in self.fields])
            for title, names in GROUPS
        ]
        held = ("What lies in it", [self[f"has_{name}"] for name in MATTERS])
        found.insert(1, held)
        return [group for group in found if group[1]]

    def draft(self) -> dict[str, Any]:
        """What the record will hold."""
        typed = self.cleaned_data
        kept = {name: typed[name] for name in FIELDS & set(typed)}
        matters = {name: typed.get(f"has_{name}", "") for name in MATTERS}
        answered = {name: said for name, said in matters.items() if said}
        return kept | {"matters": answered}


class PhotoForm(forms.Form):
    """A photograph of a source."""

    side = forms.ChoiceField(
        label="It shows",
        choices=[(side, side) for side in SIDES],
        help_text="Uncut: the whole sheet before it was cut.",
    )
    picture = forms.FileField(label="Photograph or scan")


class ContactForm(forms.Form):
    """A letter, a call or an answer."""

    on = forms.DateField(label="On", widget=forms.DateInput(attrs={"type": "date"}))
    whom = forms.CharField(
        label="With whom", max_length=300, widget=forms.TextInput(attrs=DIR)
    )
    said = forms.CharField(
        label="What was said",
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs=DIR),
    )


class ClearanceForm(forms.Form):
    """What rights judges."""

    clearance = forms.ChoiceField(
        label="Clearance", choices=[(one.value, one.value) for one in Clearance]
    )
    because = forms.CharField(
        label="Because",
        required=False,
        max_length=LONGEST_WORDS,
        help_text="Asked for when it is not needed, refused or to be replaced.",
        widget=forms.Textarea(attrs=DIR),
    )


class UseForm(PlacingForm):
    """Where a source lies; empty when the place is not known yet."""
