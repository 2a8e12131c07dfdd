"""Letters after a sitting: who was not there learns what needs their initial."""

from django.conf import settings
from django.urls import reverse

from accounts.actions import send
from board.sittings.models import Sitting
from board.sittings.queries.minutes import attendance, waits_for


def mail_absentees(sitting: Sitting) -> None:
    """Write to everybody who was not there what waits for them on the listed items."""
    path = reverse("sittings:sitting", args=[sitting.key])
    for one in attendance(sitting)[1]:
        waits = [
            f"- {thing.item.label}, {thing.stage}: {thing.why}"
            for thing in waits_for(one.person, sitting)
        ]
        mine = "\n".join(waits) or "Nothing of it waits for you now."
        send(
            to=one.person.email,
            subject=f"Minutes of sitting {sitting.number} on {sitting.book.title}",
            words=(
                f"Hello {one.person.name},\n\nyou were not at sitting "
                f"{sitting.number} on the picture book {sitting.book.title}. What was "
                "decided there is no initial: each station still initials itself. For "
                f"you on the items that were looked at:\n\n{mine}\n\nThe minutes:\n\n"
                f"{settings.BOARD_ADDRESS}{path}\n"
            ),
        )
