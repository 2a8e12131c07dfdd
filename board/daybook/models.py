"""The append-only record of each book, chained by hashes."""

from typing import ClassVar

from django.db import models

__all__ = ["Entry", "NameInRecord"]


class Entry(models.Model):
    """One thing that happened, in plain values; a database trigger keeps it as it is."""

    book_key = models.CharField(max_length=16)
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    at = models.DateTimeField()
    by_key = models.CharField(max_length=16, default="", blank=True)
    role = models.CharField(max_length=20, default="", blank=True)
    item_key = models.CharField(max_length=16, default="", blank=True)
    stage = models.CharField(max_length=12, default="", blank=True)
    about_key = models.CharField(max_length=16, default="", blank=True)
    checksum = models.CharField(max_length=64, default="", blank=True)
    text_version = models.PositiveIntegerField(null=True)
    details = models.JSONField(default=dict)
    event = models.CharField(max_length=64, default="", blank=True)
    chained_to = models.CharField(max_length=64)
    chain = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["book_key", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["book_key", "number"], name="one_entry_a_number"
            ),
            models.UniqueConstraint(
                fields=["book_key", "event", "kind", "about_key"],
                condition=~models.Q(event=""),
                name="an_event_happens_once",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["book_key", "item_key", "number"], name="entry_item"),
            models.Index(fields=["book_key", "event"], name="entry_event"),
        ]

    def __str__(self) -> str:
        return f"{self.number}. {self.kind}"


class NameInRecord(models.Model):
    """The name the record shows for a person; erased here, the chain stays whole."""

    person_key = models.CharField(max_length=16, primary_key=True)
    name = models.CharField(max_length=120)
    initials = models.CharField(max_length=4)

    def __str__(self) -> str:
        return self.name
