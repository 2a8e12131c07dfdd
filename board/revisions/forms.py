"""Forms of the folder: what a file is for, and how a revision is to be laid."""

from typing import Any

from django import forms

from board.books.models import Book, Item
from board.books.rules import STAGES
from board.revisions.models import Revision, Upload
from board.revisions.rules import DECLARATIONS, PAIRS, REGISTERED, Declared, Laying

MOST_PAIRS = 4
WAYS = [
    (REGISTERED, "by itself, on the revision before"),
    (Declared.BLED, f"by its word: it shows {DECLARATIONS[Declared.BLED]}"),
    (Declared.TRIMMED, f"by its word: it is {DECLARATIONS[Declared.TRIMMED]}"),
    (Declared.CORNERS, "by the four corners of the trim, marked on it"),
    (PAIRS, "by 2 to 4 pairs of points, marked on it and on the revision before"),
]


class ItemField(forms.ModelChoiceField):  # type: ignore[type-arg]  # stubs only
    """A choice among a book's items by their labels."""

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.label)


def set_items(field: forms.Field, book: Book) -> None:
    """Offer the items of one book, in page order."""
    if isinstance(field, ItemField):
        field.queryset = book.items.filter(set_aside=False).order_by("position")


class SendForm(forms.Form):
    """What is said of files before they are sent."""

    item = ItemField(
        Item.objects.none(),
        required=False,
        to_field_name="key",
        label="For",
        empty_label="as their names say; I confirm each",
    )
    declared = forms.ChoiceField(
        choices=list(DECLARATIONS.items()),
        initial=Declared.BLED,
        label="Each picture shows",
        help_text="Counts for the first picture of a spread; later ones find their "
        "own place on the one before.",
    )

    def __init__(self, *args: Any, book: Book, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        set_items(self.fields["item"], book)


class MatchForm(forms.Form):
    """One file's item and stage, to be corrected and confirmed."""

    take = forms.BooleanField(required=False, label="Put into the folder")
    item = ItemField(
        Item.objects.none(),
        required=False,
        to_field_name="key",
        label="Item",
        empty_label="choose",
    )
    stage = forms.ChoiceField(
        choices=[("", "choose"), *((stage.value, stage.value) for stage in STAGES)],
        required=False,
        label="Stage",
    )
    declared = forms.ChoiceField(
        choices=list(DECLARATIONS.items()), label="The picture shows"
    )

    def __init__(self, *args: Any, upload: Upload, book: Book, **kwargs: Any) -> None:
        kwargs["prefix"] = upload.key
        kwargs["initial"] = {
            "take": bool(upload.item_id and upload.stage),
            "item": upload.item,
            "stage": upload.stage,
            "declared": upload.declared,
        }
        super().__init__(*args, **kwargs)
        set_items(self.fields["item"], book)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("take") and not (given.get("item") and given.get("stage")):
            raise forms.ValidationError("Choose its item and its stage first.")
        return given


class LayForm(forms.Form):
    """How to lay a revision; places in per cent of the picture and of the sheet."""

    how = forms.ChoiceField(choices=WAYS, label="Lay it", widget=forms.RadioSelect)

    def __init__(self, *args: Any, revision: Revision, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        by_hand = revision.laid == Revision.Laid.BY_HAND
        self.initial["how"] = PAIRS if by_hand else revision.laid or Declared.CORNERS
        for number in range(1, MOST_PAIRS + 1):
            given = (revision.points or [])[number - 1 : number]
            known = given[0] if given else {}
            for side in ("here", "there"):
                for axis in (0, 1):
                    self._add(number, side, axis, known.get(side))

    def _add(self, number: int, side: str, axis: int, known: Any) -> None:
        where = "picture" if side == "here" else "sheet"
        way = "across" if axis == 0 else "down"
        self.fields[f"{side}-{number}-{'xy'[axis]}"] = forms.FloatField(
            required=False,
            min_value=-20,
            max_value=120,
            initial=round(known[axis] * 100, 3) if known else None,
            label=f"Point {number} on the {where}, {way}, per cent",
            widget=forms.NumberInput(attrs={"step": "0.01", "class": "input"}),
        )

    def rows(self) -> list[dict[str, Any]]:
        """The fields of each pair, for the page."""
        return [
            {
                "number": number,
                "here": [self[f"here-{number}-{axis}"] for axis in "xy"],
                "there": [self[f"there-{number}-{axis}"] for axis in "xy"],
            }
            for number in range(1, MOST_PAIRS + 1)
        ]

    def laying(self) -> Laying:
        """What was asked for; half-filled rows are left out."""
        how = self.cleaned_data["how"]
        sides = {Declared.CORNERS: ("here",), PAIRS: ("here", "there")}.get(how, ())
        points = []
        for number in range(1, MOST_PAIRS + 1):
            point = {side: self._place(side, number) for side in sides}
            if point and all(point.values()):
                points.append(point)
        return Laying(how, points)

    def _place(self, side: str, number: int) -> list[float]:
        values = [self.cleaned_data.get(f"{side}-{number}-{axis}") for axis in "xy"]
        given = [value / 100 for value in values if value is not None]
        return given if len(given) == 2 else []
