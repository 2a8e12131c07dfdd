"""What people choose about their mails."""

from django import forms

from board.post.rules import USUAL_HOUR


class WishesForm(forms.Form):
    """Which mails, and at which hour."""

    digest = forms.BooleanField(
        label="A digest of what waits for me, once a day at the most", required=False
    )
    hour = forms.TypedChoiceField(
        label="At this hour, by my own clock",
        choices=[(hour, f"{hour:02d}:00") for hour in range(24)],
        coerce=int,
        initial=USUAL_HOUR,
    )
    at_once = forms.BooleanField(
        label="A mail at once for what only I can unblock", required=False
    )
