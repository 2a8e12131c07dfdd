"""Who signs p.p., and what words are measured with."""

from typing import Any

from django import forms

from accounts.models import Person
from board.books.actions.deputies import DeputyDraft
from board.books.models import Book, Credit
from board.books.queries import credits_on
from board.permits import Role


class DeputyForm(forms.Form):
    """Somebody who signs p.p. at one's own station, from day to day."""

    line = forms.ChoiceField(label="Whose line")
    person = forms.ChoiceField(label="Who signs p.p.")
    first_day = forms.DateField(
        label="From", widget=forms.DateInput(attrs={"type": "date"})
    )
    last_day = forms.DateField(
        label="Until and with", widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, *args: Any, book: Book, by: Person, **more: Any) -> None:
        """Offer the lines this person may lend and the people who may sign."""
        super().__init__(*args, **more)
        credits = list(credits_on(book))
        makers = {one.person_id for one in credits if one.role == Role.ILLUSTRATOR}
        self.lines = {one.key: one for one in credits if _lends(one, by, credits)}
        self.people = {
            one.person.key: one.person for one in credits if one.person_id not in makers
        }
        lent = [
            (key, f"{one.role}: {one.person.name}") for key, one in self.lines.items()
        ]
        names = [(key, one.name) for key, one in self.people.items()]
        self.fields["line"].choices = lent  # type: ignore[attr-defined]  # a choice
        self.fields["person"].choices = names  # type: ignore[attr-defined]  # a choice

    def draft(self) -> DeputyDraft:
        """The deputy to be named."""
        told = self.cleaned_data
        credit = self.lines[told["line"]]
        return DeputyDraft(
            role=Role(credit.role),
            principal=credit.person,
            person=self.people[told["person"]],
            first_day=told["first_day"],
            last_day=told["last_day"],
        )


def _lends(credit: Credit, by: Person, credits: list[Credit]) -> bool:
    """Everybody lends their own line; the publisher any but the author's and rights'."""
    if credit.role == Role.ILLUSTRATOR:
        return False
    publishes = any(
        one.person_id == by.pk and one.role == Role.PUBLISHER for one in credits
    )
    kept = credit.role in {Role.AUTHOR, Role.RIGHTS}
    return credit.person_id == by.pk or (publishes and not kept)


class TypeForm(forms.Form):
    """The face that words are measured with."""

    face = forms.FileField(
        label="The text face, as a TrueType file", help_text="A .ttf of up to 4 MB."
    )
