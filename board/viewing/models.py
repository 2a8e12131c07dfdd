"""What a person has looked at."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Item
from board.revisions.models import Revision

__all__ = ["Looked"]


class Looked(models.Model):
    """Somebody opened an item's letter with this picture and these words on it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+"
    )
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="+")
    revision = models.ForeignKey(
        Revision, null=True, on_delete=models.CASCADE, related_name="+"
    )
    text_version = models.PositiveIntegerField(default=0)
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["item", "at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person", "item", "revision", "text_version"],
                name="each_look_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person_id} looked at {self.item_id}"
