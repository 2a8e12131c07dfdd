"""What people type at the door and about themselves."""

import zoneinfo
from functools import cache
from typing import Any

from django import forms
from django.contrib.auth import password_validation

from accounts.models import Person

ADDRESS = forms.EmailInput(
    attrs={"autocomplete": "username", "inputmode": "email", "dir": "ltr"}
)


@cache
def time_zones() -> tuple[str, ...]:
    """The names of places a clock can follow."""
    named = zoneinfo.available_timezones()
    return tuple(
        sorted(zone for zone in named if zone == "UTC" or zone.count("/") in {1, 2})
    )


class LinkForm(forms.Form):
    """Asks for a mailed link."""

    prefix = "link"
    email = forms.EmailField(label="Your mail address", widget=ADDRESS)


class PasswordSignInForm(forms.Form):
    """Comes in by password."""

    prefix = "door"
    email = forms.EmailField(label="Your mail address", widget=ADDRESS)
    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class AboutMeForm(forms.ModelForm[Person]):
    """Name, initials and clock."""

    class Meta:
        model = Person
        fields = ("name", "initials", "time_zone")
        labels = {"name": "Name", "initials": "Initials", "time_zone": "Time zone"}
        help_texts = {
            "name": "As it should stand on the slip and in the record.",
            "initials": "One to four letters. They sign your notes and initials; "
            "what you signed before keeps the old ones.",
            "time_zone": "Type a city, for example Europe/Lisbon. "
            "Left empty, the board's own clock is used.",
        }
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "name", "dir": "auto"}),
            "initials": forms.TextInput(attrs={"size": 4, "autocomplete": "off"}),
            "time_zone": forms.TextInput(
                attrs={"list": "time-zones", "autocomplete": "off"}
            ),
        }

    def clean_initials(self) -> str:
        """Letters only, in capitals."""
        initials = "".join(str(self.cleaned_data["initials"]).split()).upper()
        if not all(letter.isalpha() for letter in initials):
            raise forms.ValidationError("Use letters only, for example TOV.")
        return initials

    def clean_time_zone(self) -> str:
        """A place the clock knows, or nothing."""
        zone = str(self.cleaned_data["time_zone"]).strip().replace(" ", "_")
        if zone and zone not in time_zones():
            raise forms.ValidationError(
                "The board knows no clock of that name. Choose one from the list, "
                "for example Europe/London."
            )
        return zone


class ChoosePasswordForm(forms.Form):
    """Sets or changes a password."""

    prefix = "new"
    old_password = forms.CharField(
        label="Your present password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        label="New password",
        strip=False,
        help_text="At least 10 characters, and not a common one. "
        "A few words in a row are easy to remember.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, person: Person, **options: Any) -> None:
        # whatever a form takes
        super().__init__(*args, **options)
        self.person = person
        if not person.has_usable_password():
            del self.fields["old_password"]

    def clean_old_password(self) -> str:
        """It must be the right one."""
        old = str(self.cleaned_data["old_password"])
        if not self.person.check_password(old):
            raise forms.ValidationError("That is not your present password.")
        return old

    def clean_password(self) -> str:
        """Not too short, not a common one."""
        password = str(self.cleaned_data["password"])
        password_validation.validate_password(password, self.person)
        return password
