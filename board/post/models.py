"""Mails on their way, what people wish of them, and the calendars they subscribe to."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField
from board.post.rules import USUAL_HOUR

__all__ = ["Asked", "CalendarFeed", "Outgoing", "Quiet", "Reached", "Wishes"]


class Outgoing(models.Model):
    """One thing to mail to one person; several may go out in one mail.

    The row is the truth: it is there before anything is sent, and is tried until it is
    sent or ended. `event` names what caused it, so that nothing is mailed twice.
    """

    class Kind(models.TextChoices):
        AT_ONCE = "at once"
        DIGEST = "digest"

    key = KeyField()
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="mails"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    event = models.CharField(
        max_length=64, help_text="A daybook entry, book:number; a digest's own day."
    )
    book = models.ForeignKey(
        Book, null=True, on_delete=models.CASCADE, related_name="+"
    )
    item = models.ForeignKey(
        Item, null=True, on_delete=models.CASCADE, related_name="+"
    )
    want = models.CharField(max_length=64, blank=True, default="")
    made_at = models.DateTimeField()
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_owner = models.CharField(max_length=64, blank=True, default="")
    lease_until = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    trouble = models.CharField(max_length=300, blank=True, default="")
    told = models.CharField(max_length=64, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["due_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person", "kind", "event", "item", "want"],
                condition=models.Q(item__isnull=False),
                name="each_event_mailed_once",
            ),
            models.UniqueConstraint(
                fields=["person", "kind", "event"],
                condition=models.Q(item=None),
                name="one_digest_a_day",
            ),
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["due_at"],
                condition=models.Q(sent_at=None, ended_at=None),
                name="outgoing_due",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.person_id}: {self.want or self.event}"


class Asked(models.Model):
    """What waits for somebody now and is theirs alone, as it was last seen."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+"
    )
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="+")
    want = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person", "item", "want"], name="each_want_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.want} of {self.person_id}"


class Reached(models.Model):
    """Up to which entry of a book's daybook it was looked at who must be told."""

    book = models.OneToOneField(Book, on_delete=models.CASCADE, related_name="+")
    number = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.book_id} up to {self.number}"


class Wishes(models.Model):
    """What mails a person wants, and at which hour of their own clock."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="wishes"
    )
    digest = models.BooleanField(default=True)
    at_once = models.BooleanField(default=True)
    hour = models.PositiveSmallIntegerField(default=USUAL_HOUR)

    def __str__(self) -> str:
        return f"wishes of {self.person_id}"


class Quiet(models.Model):
    """No mails to this person about this book."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+"
    )
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "book"], name="each_quiet_once")
        ]

    def __str__(self) -> str:
        return f"{self.person_id} hears nothing of {self.book_id}"


class CalendarFeed(models.Model):
    """A private address of one person's due days; only the hash of it is kept."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person"],
                condition=models.Q(ended_at=None),
                name="one_live_feed_a_person",
            )
        ]

    def __str__(self) -> str:
        return f"feed of {self.person_id}"
