"""What people type on the continuity sheet."""

from typing import Any

from django import forms

from board.books.forms.placing import PlacingForm
from board.continuity.queries import Row

DIR = {"dir": "auto"}


class ThingForm(forms.Form):
    """A thing to be followed."""

    name = forms.CharField(
        label="Thing",
        max_length=120,
        help_text="A coat, the strap's side, the letters still in the bag.",
        widget=forms.TextInput(attrs=DIR),
    )
    changes = forms.BooleanField(
        label="It changes by plan (then nothing is called odd)", required=False
    )


class ValuesForm(forms.Form):
    """One thing's value on each item, and why it may differ there."""

    def __init__(self, data: Any, *, row: Row) -> None:  # data as Django takes it
        super().__init__(data)
        self.row = row
        for cell in row.cells:
            key, label = cell.item.key, cell.item.label
            self.fields[f"value-{key}"] = forms.CharField(
                label=f"Value on {label}",
                max_length=120,
                required=False,
                initial=cell.value,
                widget=forms.TextInput(attrs={**DIR, "class": "input"}),
            )
            self.fields[f"word-{key}"] = forms.CharField(
                label=f"Why it may differ on {label}",
                max_length=300,
                required=False,
                initial=cell.explained,
                widget=forms.TextInput(attrs={**DIR, "class": "input"}),
            )

    def lines(self) -> list[dict[str, Any]]:
        """Cells with their two fields."""
        return [
            {
                "cell": cell,
                "value": self[f"value-{cell.item.key}"],
                "word": self[f"word-{cell.item.key}"],
            }
            for cell in self.row.cells
        ]

    def values(self) -> dict[str, tuple[str, str]]:
        """What was typed, by item key."""
        typed = self.cleaned_data
        return {
            cell.item.key: (
                typed[f"value-{cell.item.key}"],
                typed[f"word-{cell.item.key}"],
            )
            for cell in self.row.cells
        }


class PlaceForm(PlacingForm):
    """Where a thing is seen on an item."""

    may_be_empty = False
