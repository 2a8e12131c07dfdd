"""Forms of the folder: what a file is for, and how a revision is to be laid."""

from collections.abc import Sequence
from typing import Any

from django import forms

from board.books.models import Book, Item
from board.books.rules import STAGES
from board.errors import NotUnderstood
from board.revisions.models import Revision, Upload
from board.revisions.rules import DECLARATIONS, PAIRS, REGISTERED, Declared, Laying
from board.revisions.rules.storyboards import MOST_FRAMES, SLACK, Frame, require_frame

MOST_PAIRS = 4
CORNER_NAMES = ("top left", "top right", "bottom right", "bottom left")
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


class SheetForm(forms.Form):
    """One storyboard sheet to be sent by a plain form."""

    file = forms.FileField(
        label="The sheet",
        error_messages={"required": "No file was chosen. Choose one, then send it."},
    )


class FrameForm(forms.Form):
    """One frame: which item it is, and its corners in per cent of the sheet."""

    def __init__(self, *args: Any, items: Sequence[Item], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["item"] = forms.ChoiceField(
            choices=[("", "not laid out"), *((one.key, one.label) for one in items)],
            required=False,
            label="Item",
            widget=forms.Select(attrs={"class": "input"}),
        )
        given = self.initial.get("corners") or []
        for number, name in enumerate(CORNER_NAMES, start=1):
            known = given[number - 1] if given else (None, None)
            for axis, way, value in zip("xy", ("across", "down"), known, strict=True):
                self.fields[f"{axis}{number}"] = forms.FloatField(
                    required=False,
                    min_value=-100 * SLACK,
                    max_value=100 * (1 + SLACK),
                    initial=round(value * 100, 3) if value is not None else None,
                    label=f"{name}, {way}, per cent",
                    widget=forms.NumberInput(attrs={"step": "any", "class": "input"}),
                )

    def corner_fields(self) -> list[dict[str, Any]]:
        """The fields of each corner, for the page."""
        return [
            {"name": name, "fields": [self[f"x{number}"], self[f"y{number}"]]}
            for number, name in enumerate(CORNER_NAMES, start=1)
        ]

    def outline(self) -> str:
        """The corners as an SVG outline in per cent; empty while one is lacking."""
        values = [[self[f"x{n}"].value(), self[f"y{n}"].value()] for n in range(1, 5)]
        try:
            return " ".join(f"{float(x):.3f},{float(y):.3f}" for x, y in values)
        except (TypeError, ValueError):
            return ""

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        names = [f"{axis}{number}" for number in range(1, 5) for axis in "xy"]
        values = [given.get(name) for name in names]
        if all(value is None for value in values):
            if given.get("item"):
                raise forms.ValidationError("Give the four corners of this frame.")
            return given
        if any(name in self.errors for name in names):
            return given
        if None in values:
            raise forms.ValidationError("Give all four corners, across and down.")
        flat = [round(value / 100, 5) for value in values if value is not None]
        corners = [flat[at : at + 2] for at in range(0, 8, 2)]
        try:
            require_frame(corners)
        except NotUnderstood as refused:
            raise forms.ValidationError(refused.says) from refused
        return given | {"corners": corners}


class FrameForms(forms.BaseFormSet[FrameForm]):
    """All frames of a sheet, in reading order."""

    def frames(self) -> list[Frame]:
        """The frames that were given; rows without corners are left out."""
        said = [form.cleaned_data for form in self.forms]
        return [
            Frame(row.get("item", ""), row["corners"])
            for row in said
            if row.get("corners")
        ]


FrameFormSet = forms.formset_factory(
    FrameForm,
    formset=FrameForms,
    extra=2,
    max_num=MOST_FRAMES,
    absolute_max=MOST_FRAMES,
    validate_max=True,
)
