"""What is typed for a sitting: its plan, and a decision line."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from accounts.forms import time_zones
from board.books.models import Book, Item
from board.sittings.actions import LEAST_MINUTES, MOST_MINUTES, Plan
from board.sittings.queries import items_on, sitters
from board.sittings.rules import Word

DECISIONS = (
    (Word.OK, "Nothing more to do here."),
    (Word.AS_CORRECTED, "Good once the listed points are done."),
    (Word.RETURN, "Back to the artist with a note sheet."),
    (Word.HOLD, "It waits for something; hold it in its room, too."),
    (Word.ASK_AUTHOR, "The editor asks the author before anybody initials."),
)


class PlanForm(forms.Form):
    """When, in whose time, who chairs, and what is looked at."""

    day = forms.DateField(
        label="Day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    hour = forms.TimeField(
        label="Time", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    time_zone = forms.CharField(
        label="In the time of",
        max_length=64,
        help_text="Type a city, for example Europe/Lisbon. Everybody sees it by their "
        "own clock.",
        widget=forms.TextInput(attrs={"list": "time-zones", "autocomplete": "off"}),
    )
    minutes = forms.IntegerField(
        label="Minutes",
        min_value=LEAST_MINUTES,
        max_value=MOST_MINUTES,
        help_text="Three or four for each spread, and the reading (from practice).",
    )
    chair = forms.ChoiceField(label="Chair")
    items = forms.MultipleChoiceField(
        label="Items to look at", widget=forms.CheckboxSelectMultiple
    )
    remark = forms.CharField(
        label="A word to everybody",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
    )

    def __init__(self, data: Any = None, *, book: Book, **options: Any) -> None:
        super().__init__(data, **options)  # data and options as Django takes them
        self.by_key: dict[str, Item] = {item.key: item for item in items_on(book)}
        self.chairs = {one.person.key: one.person for one in sitters(book) if one.house}
        self.choose("items", [(k, item.label) for k, item in self.by_key.items()])
        self.choose("chair", [(k, who.name) for k, who in self.chairs.items()])

    def choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - declared above
        field.choices = choices

    def clean_time_zone(self) -> str:
        """A zone of the tz database."""
        zone = str(self.cleaned_data["time_zone"]).strip()
        if zone not in time_zones():
            raise forms.ValidationError(
                "No such time zone. Type a city, for example Europe/Lisbon, or UTC."
            )
        return zone

    def clean(self) -> dict[str, Any]:
        """A moment that the clocks of that place really show."""
        told: dict[str, Any] = super().clean() or {}
        if {"day", "hour", "time_zone"} <= set(told):
            zone = ZoneInfo(told["time_zone"])
            start = datetime.combine(told["day"], told["hour"], tzinfo=zone)
            if start.astimezone(UTC).astimezone(zone).time() != told["hour"]:
                self.add_error(
                    "hour",
                    "The clocks there leap over that time on that day. "
                    "Choose an hour earlier or later.",
                )
        return told

    def plan(self) -> Plan:
        """What was typed, as the action takes it."""
        told = self.cleaned_data
        zone = ZoneInfo(told["time_zone"])
        return Plan(
            starts_at=datetime.combine(told["day"], told["hour"], tzinfo=zone),
            time_zone=told["time_zone"],
            minutes=told["minutes"],
            items=[self.by_key[key] for key in told["items"]],
            chair=self.chairs[told["chair"]],
            remark=told["remark"],
        )
