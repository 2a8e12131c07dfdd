"""Readings of the whole book, timed, on exactly the pictures and words of that day."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, KeyField

__all__ = ["Reading"]


class Reading(models.Model):
    """One read-through. Only added to."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="readings")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    role = models.CharField(max_length=16, blank=True, default="")
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    seconds = models.FloatField()
    list_hash = models.CharField(max_length=64, db_index=True)
    shown = models.JSONField(default=list)
    text_version = models.PositiveIntegerField(default=0)
    remark = models.TextField(blank=True, default="")
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["book", "ended_at", "id"]

    def __str__(self) -> str:
        return f"read by {self.by_id} in {self.seconds:.0f} s"
