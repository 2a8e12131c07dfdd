"""A place drawn on the sheet: a box by its four sides, or a loop by its corners."""

import re
from typing import Any

from django import forms

from board.books.forms import LengthField

SIDES = ("x", "y", "width", "height")
MOST_CORNERS = 400
LOOP_HELP = "Per cent from the left and from the top, a pair for each corner: 20,30 45.5,31 40,60."
Corners = list[list[float]]


class LoopField(forms.CharField):
    """Corners as text, "x,y x,y x,y" in per cent; gives fractions, or nothing."""

    def to_python(self, value: Any) -> Corners:  # type: ignore[override]  # any form data
        text = str(super().to_python(value) or "")
        try:
            pairs = [
                [round(float(part) / 100, 5) for part in pair.split(",")]
                for pair in re.split(r"[\s;]+", text.strip())
                if pair
            ]
        except ValueError:
            pairs = [[]]
        if any(
            len(pair) != 2 or not all(-1 <= at <= 2 for at in pair) for pair in pairs
        ):
            raise forms.ValidationError(f"The corners are not understood. {LOOP_HELP}")
        if pairs and not 3 <= len(pairs) <= MOST_CORNERS:
            raise forms.ValidationError(
                f"A loop has three corners or more, and no more than {MOST_CORNERS}."
            )
        return pairs


class PlacingForm(forms.Form):
    """One place: all four sides of a box, or the corners of a loop; never both."""

    may_be_empty = True
    x = LengthField(label="From the left", required=False)
    y = LengthField(label="From the top", required=False)
    width = LengthField(label="Width", required=False)
    height = LengthField(label="Height", required=False)
    loop = LoopField(
        label="Corners of a loop",
        required=False,
        max_length=12_000,
        help_text=LOOP_HELP,
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "ltr"}),
    )

    def clean(self) -> dict[str, Any]:
        """A whole box with an area, or a loop; nothing only where that is allowed."""
        found = super().clean() or {}
        given = [found[side] for side in SIDES if found.get(side) is not None]
        loop = found.get("loop")
        if given and loop:
            self.add_error(None, "Give a box or a loop, and empty the other.")
        elif given and (len(given) < 4 or min(given[2:]) <= 0):
            self.add_error(None, "Give all four sides of the box, or none.")
        elif not (given or loop or self.errors or self.may_be_empty):
            self.add_error(None, "Draw a box or a loop on the sheet, or type one.")
        return found

    def marked(self) -> tuple[str, Corners]:
        """The mark and its points in fractions of the trimmed sheet."""
        if self.cleaned_data["loop"]:
            return "loop", self.cleaned_data["loop"]
        sides = [self.cleaned_data[name] for name in SIDES]
        if None in sides:
            return "", []
        x, y, width, height = (round(side / 100, 5) for side in sides)
        return "box", [[x, y], [round(x + width, 5), round(y + height, 5)]]
