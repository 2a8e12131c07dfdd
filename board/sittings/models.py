"""Sittings: planned, open, closed; who sat, what was looked at, what was decided."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField
from board.revisions.models import Revision
from board.sittings.rules import Standing, Word

__all__ = ["Decision", "Seat", "Sitting", "SittingItem", "Turn"]


class Sitting(models.Model):
    """One review session on a book; everything a server needs to take it up again."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="sittings")
    number = models.PositiveIntegerField()
    planned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    chair = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    starts_at = models.DateTimeField()
    time_zone = models.CharField(max_length=64)
    minutes = models.PositiveSmallIntegerField(default=60)
    remark = models.TextField(blank=True, default="")
    planned_at = models.DateTimeField()
    opened_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    called_off_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=0)
    now_item = models.ForeignKey(
        Item, null=True, on_delete=models.PROTECT, related_name="+"
    )
    look = models.JSONField(default=dict)
    looks = models.PositiveIntegerField(default=0)
    reading = models.JSONField(
        default=dict, help_text="While the book is read: its signed word and the clock."
    )
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["book", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["book", "number"], name="one_sitting_a_number"
            ),
            models.UniqueConstraint(
                fields=["book"],
                condition=models.Q(opened_at__isnull=False, closed_at=None),
                name="one_open_sitting",
            ),
        ]

    def __str__(self) -> str:
        return f"sitting {self.number}"

    @property
    def standing(self) -> Standing:
        if self.called_off_at:
            return Standing.CALLED_OFF
        if self.closed_at:
            return Standing.CLOSED
        return Standing.OPEN if self.opened_at else Standing.PLANNED


class SittingItem(models.Model):
    """An item on a sitting's list; its revision is frozen when the sitting opens."""

    sitting = models.ForeignKey(Sitting, on_delete=models.CASCADE, related_name="items")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    revision = models.ForeignKey(
        Revision, null=True, on_delete=models.PROTECT, related_name="+"
    )
    text_version = models.PositiveIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["sitting", "item__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sitting", "item"], name="listed_once")
        ]

    def __str__(self) -> str:
        return f"{self.item.label} in {self.sitting_id}"


class Turn(models.Model):
    """A stretch of time that an item lay before everybody."""

    sitting = models.ForeignKey(Sitting, on_delete=models.CASCADE, related_name="turns")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["sitting", "began_at", "id"]

    def __str__(self) -> str:
        return f"{self.item_id} from {self.began_at}"


class Seat(models.Model):
    """Somebody who sat in: from when to when, and whether they follow the chair."""

    sitting = models.ForeignKey(Sitting, on_delete=models.CASCADE, related_name="seats")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    came_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True)
    follows = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["sitting", "came_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sitting", "person"], name="one_seat_each")
        ]

    def __str__(self) -> str:
        return f"{self.person_id} in {self.sitting_id}"


class Decision(models.Model):
    """A decision line: the word on an item, who ruled and who wrote it down."""

    key = KeyField()
    sitting = models.ForeignKey(
        Sitting, on_delete=models.CASCADE, related_name="decisions"
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    word = models.CharField(
        max_length=16, choices=[(word.value, word.value) for word in Word]
    )
    ruled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    remark = models.TextField(blank=True, default="")
    at = models.DateTimeField()
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["sitting", "at", "id"]

    def __str__(self) -> str:
        return f"{self.item_id}: {self.word}"
