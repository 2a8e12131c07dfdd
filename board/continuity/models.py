"""Things that are followed through the book, their values and marked places."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField

__all__ = ["Thing", "ThingPlace", "Value"]

PERSON = settings.AUTH_USER_MODEL


class Thing(models.Model):
    """A coat, a strap, a count of letters: something followed from item to item."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="things")
    name = models.CharField(max_length=120)
    steady = models.BooleanField(
        default=True, help_text="Expected to stay the same; else it changes by plan."
    )
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["book", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["book", "name"], name="one_thing_a_name")
        ]

    def __str__(self) -> str:
        return self.name


class Value(models.Model):
    """What a thing is on one item, and why it may differ there."""

    thing = models.ForeignKey(Thing, on_delete=models.CASCADE, related_name="values")
    item = models.ForeignKey(
        Item, on_delete=models.CASCADE, related_name="thing_values"
    )
    value = models.CharField(max_length=120, blank=True, default="")
    explained = models.CharField(max_length=300, blank=True, default="")
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["thing", "item"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["thing", "item"], name="one_value_an_item")
        ]

    def __str__(self) -> str:
        return self.value


class ThingPlace(models.Model):
    """Where a thing is seen on an item: a box's two corners or a loop's many, on the sheet."""

    key = KeyField()
    thing = models.ForeignKey(Thing, on_delete=models.CASCADE, related_name="places")
    item = models.ForeignKey(
        Item, on_delete=models.CASCADE, related_name="thing_places"
    )
    points = models.JSONField()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["thing", "item"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["thing", "item"], name="one_place_a_thing_an_item"
            )
        ]

    def __str__(self) -> str:
        return f"{self.thing_id} on {self.item_id}"
