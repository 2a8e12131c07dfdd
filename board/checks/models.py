"""Checks of a revision, and the printing condition they are held against."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, KeyField
from board.repro.models import LeasedWork
from board.revisions.models import Revision

__all__ = ["CheckRun", "PrintingCondition"]


class PrintingCondition(models.Model):
    """Press, paper and limits of a book; the newest row is in force."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="conditions")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    name = models.CharField(max_length=120)
    profile_sha256 = models.CharField(max_length=64, blank=True, default="")
    profile_name = models.CharField(max_length=120, blank=True, default="")
    ink_limit = models.FloatField(default=300.0, help_text="Per cent, 400 at the most.")
    ink_source = models.CharField(max_length=200)
    bleed_mm = models.FloatField(null=True, help_text="What the printer asks for.")
    bleed_source = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["book", "id"]

    def __str__(self) -> str:
        return self.name


class CheckRun(LeasedWork):
    """Every check of one revision under one set of terms; the last asked for counts."""

    key = KeyField()
    revision = models.ForeignKey(
        Revision, on_delete=models.CASCADE, related_name="check_runs"
    )
    recipe = models.CharField(max_length=64)
    asked_at = models.DateTimeField()
    findings = models.JSONField(
        default=list,
        help_text="check, level, says, figure, limit, source, estimate, places.",
    )
    condition = models.ForeignKey(
        PrintingCondition, null=True, on_delete=models.PROTECT, related_name="+"
    )
    picture = models.CharField(
        max_length=80, blank=True, default="", help_text="Key of the maps' folder."
    )

    class Meta:
        ordering: ClassVar = ["asked_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["revision", "recipe"], name="each_check_once"
            )
        ]

    def __str__(self) -> str:
        return f"checks of {self.revision_id}"
