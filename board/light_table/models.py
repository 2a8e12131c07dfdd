"""Pairs of laid pictures and what changed between them."""

from typing import ClassVar

from django.db import models

from board.books.models import KeyField
from board.repro.models import LeasedWork
from board.revisions.models import Revision

__all__ = ["Comparison"]


class Comparison(LeasedWork):
    """The change map of two revisions of one item, kept by laying and recipe."""

    key = KeyField()
    before = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="+")
    after = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="+")
    recipe = models.CharField(max_length=80)
    changes = models.JSONField(
        default=list,
        help_text="Regions on the sheet: x, y, width, height, area, mean, peak.",
    )
    noise = models.FloatField(null=True)
    picture = models.CharField(max_length=80, blank=True, default="")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["before", "after", "recipe"], name="each_pair_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.before_id} / {self.after_id}"
