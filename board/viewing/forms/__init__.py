"""What people write in the viewing room; every form carries the id of its act."""

from typing import Any

from django import forms

from board.books.models import Item
from board.permits import Facet
from board.slips.models import Reopening
from board.slips.rules.book import STATIONS
from board.tissue.models import Note
from board.tissue.rules import LONGEST_WORDS, NoteDraft
from board.viewing.rules import in_fractions, new_event, read_points, write_points

CLASSES = [
    (Note.Class.DIRECTION, "direction", "It must change before the OK."),
    (Note.Class.QUERY, "query", "A question that needs an answer before the OK."),
    (Note.Class.SUGGESTION, "suggestion", "Could change; the artist decides."),
    (Note.Class.COMMENT, "comment", "A reaction; nothing need follow."),
    (Note.Class.KEEP, "keep", "Do not touch this; printed first on every sheet."),
]
MARKS = [
    ("", "the whole sheet"),
    ("point", "a point"),
    ("box", "a box"),
    ("loop", "a freehand loop"),
    ("polygon", "a polygon, corner by corner"),
]
UNITS = [("mm", "mm from the trim's corner"), ("%", "per cent of the sheet")]


class ActForm(forms.Form):
    """A form with the id of the act it asks for."""

    event = forms.CharField(min_length=8, max_length=40, widget=forms.HiddenInput)

    def __init__(
        self, data: Any = None, *, item: Item, choices: Any = (), **options: Any
    ) -> None:  # data and choices as Django takes them
        options["initial"] = {"event": new_event()} | options.get("initial", {})
        super().__init__(data, auto_id=False, **options)
        self.item = item
        self.offer(choices)
        for field in self.fields.values():
            ticks = isinstance(field.widget, forms.RadioSelect)
            look = "tick-box" if ticks else "input"
            field.widget.attrs.setdefault("class", look)

    def offer(self, choices: Any) -> None:  # whatever the form offers
        """Take the choices that belong to this item and person."""

    def offer_checks(self, checks: Any) -> None:  # (sentence, sentence) pairs
        """Take the checks at stop that an initial may list."""


def words_field(label: str, *, required: bool = True) -> forms.CharField:
    """A text area for people's words, in whatever direction they read."""
    return forms.CharField(
        label=label,
        required=required,
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto", "class": "input"}),
    )


class BookForm(forms.Form):
    """What is done with a whole book at once."""

    event = forms.CharField(min_length=8, max_length=40, widget=forms.HiddenInput)


class BookInitialForm(BookForm):
    role = forms.ChoiceField(choices=[(role.value, role.value) for role in STATIONS])
    list_hash = forms.CharField(max_length=64)


class RecallForm(BookForm):
    reason = forms.CharField(
        label="Why it is recalled",
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
    )
    told = forms.CharField(label="How and when the printer was told", max_length=400)
    cost = forms.CharField(label="What it costs", max_length=120)
    ripple = forms.CharField(
        max_length=64, required=False, widget=forms.HiddenInput
    )  # the digest of what was shown


class OneWordForm(ActForm):
    """Nothing but the press itself."""


class ReplyForm(ActForm):
    words = words_field("Your reply")


class PictureForm(ActForm):
    picture = forms.FileField(
        label="A reference picture, 20 MB at the most: to look at, not to copy"
    )


class WithdrawForm(ActForm):
    words = words_field("Why, if you like", required=False)


class AnswerForm(ActForm):
    answer = forms.ChoiceField(
        choices=[
            ("done", "done"),
            ("not done because", "not done because"),
            ("query", "query"),
        ],
        widget=forms.RadioSelect,
    )
    words = words_field("In words (for done you may leave it empty)", required=False)


class AnswerQueryForm(ActForm):
    words = words_field("Your answer")


class PutBackForm(ActForm):
    words = words_field("What is still to do")


class StetForm(ActForm):
    words = words_field("Why it stands; the ruling is kept under the note")


class LateForm(ActForm):
    ruling = forms.ChoiceField(
        label="This note came late; it waits for",
        choices=[
            ("next stage", "the next stage, where it is an open note again"),
            ("next printing", "the next printing: left to the artist in this one"),
        ],
        widget=forms.RadioSelect,
    )
    words = words_field("Why it may wait; the ruling is kept under the note")


class PassOnForm(ActForm):
    words = words_field(
        "In your words for the artist (empty: as the author wrote it)", required=False
    )


class DeclineForm(ActForm):
    words = words_field("Why; the author reads this")


class ReasonForm(ActForm):
    words = words_field("Why; everybody reads it")


class RippleForm(ActForm):
    """An act that was shown with what it touches; `ripple` is that one's digest."""

    ripple = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)


class PullForm(RippleForm):
    words = words_field("Why; everybody reads it")


class MergeForm(ActForm):
    into = forms.ChoiceField(label="Merge into", widget=forms.RadioSelect)

    def offer(self, choices: Any) -> None:  # (key, words) pairs
        self.fields["into"].choices = choices  # type: ignore[attr-defined]  # a choice


class PairForm(ActForm):
    ruling = forms.ChoiceField(
        label="These two are",
        choices=[
            ("clash", "a clash: they ask opposite things"),
            ("same", "the same thing: the first merges into the second"),
            ("unrelated", "unrelated: both stay"),
        ],
        widget=forms.RadioSelect,
    )


class InitialForm(ActForm):
    receipt = forms.CharField(max_length=2000, widget=forms.HiddenInput)


class CorrectedForm(InitialForm):
    listed = forms.MultipleChoiceField(
        label="OK once these are done, 1 to 5 of them",
        required=False,  # production may list a check alone; the guard says the rest
        widget=forms.CheckboxSelectMultiple(attrs={"class": "tick-box"}),
    )

    checks = forms.MultipleChoiceField(
        label="And once these checks are no longer at stop",
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "tick-box"}),
    )

    def clean(self) -> dict[str, Any]:
        """Nothing listed would be a plain OK, which nobody meant here."""
        told = super().clean() or self.cleaned_data
        if not self.errors and not (told.get("listed") or told.get("checks")):
            raise forms.ValidationError(
                "List what it rests on: 1 to 5 small directions (production may list a "
                "check at stop instead). If nothing is to be done, initial OK."
            )
        return told

    def offer(self, choices: Any) -> None:  # (key, words) pairs
        self.fields["listed"].choices = choices  # type: ignore[attr-defined]  # choice

    def offer_checks(self, checks: Any) -> None:
        if checks:
            self.fields["checks"].choices = checks  # type: ignore[attr-defined]
        else:
            del self.fields["checks"]


class RefuseForm(ActForm):
    note = forms.ChoiceField(
        label="Over which direction of yours", widget=forms.RadioSelect
    )
    words = words_field("Anything to add", required=False)

    def offer(self, choices: Any) -> None:  # (key, words) pairs
        self.fields["note"].choices = choices  # type: ignore[attr-defined]  # a choice


class ChangeForm(ActForm):
    words = words_field("One word on it, or none when a line says it", required=False)
    note = forms.ChoiceField(
        label="The line it answers", required=False, widget=forms.RadioSelect
    )

    def offer(self, choices: Any) -> None:  # (key, words) pairs
        whole = [("", "none of them"), *choices]
        self.fields["note"].choices = whole  # type: ignore[attr-defined]  # a choice


class ReopenForm(RippleForm):
    code = forms.ChoiceField(
        label="Whose alteration", choices=[("", "choose"), *Reopening.Code.choices]
    )
    words = words_field("Why")
    payer = forms.CharField(
        label="Who pays", max_length=120, widget=forms.TextInput(attrs={"dir": "auto"})
    )


class OpenStageForm(ActForm):
    due = forms.DateField(
        label="Due, if a day is agreed",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )


class NoteForm(ActForm):
    """A note: class, words, and where it lies, by mark or by numbers."""

    sort = forms.ChoiceField(
        label="What kind of note",
        choices=[(sort.value, word) for sort, word, _ in CLASSES],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose a class: each asks something different."},
    )
    words = words_field("The note: the problem first, then the fix")
    mark = forms.ChoiceField(
        label="Where", choices=MARKS, required=False, widget=forms.RadioSelect
    )
    points = forms.CharField(required=False, max_length=12_000)
    x = forms.FloatField(label="From the left", required=False)
    y = forms.FloatField(label="Down", required=False)
    x2 = forms.FloatField(label="Opposite corner, from the left", required=False)
    y2 = forms.FloatField(label="Opposite corner, down", required=False)
    unit = forms.ChoiceField(label="Numbers in", choices=UNITS, required=False)
    facet = forms.ChoiceField(
        label="It concerns",
        choices=[("", "my own facet"), *((one.value, one.value) for one in Facet)],
        required=False,
    )
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def draft(self) -> NoteDraft:
        """The note as `slips` takes it; drawn points win over typed numbers."""
        told = self.cleaned_data
        points = read_points(told["points"])
        if not points and told["mark"]:
            points = in_fractions(
                [told["x"], told["y"], told["x2"], told["y2"]],
                unit=told["unit"] or "mm",
                width_mm=self.item.width_mm,
                height_mm=self.item.height_mm,
            )
        return NoteDraft(
            sort=told["sort"],
            words=told["words"],
            mark=told["mark"],
            points=points,
            facet=told["facet"],
        )


def as_typed(note: Note) -> dict[str, Any]:
    """A note's fields as its own form shows them, whatever their kinds."""
    return {
        "sort": note.sort,
        "words": note.words,
        "mark": note.mark,
        "points": write_points(note.points),
        "facet": note.facet,
        "version": note.version,
    }
