"""Collage sources: the record, its photographs, contacts, judgements and uses."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField
from board.clippings.rules import HOW, KINDS, MARKS, SIDES, Clearance
from board.repro.models import LeasedWork
from board.revisions.models import Revision

__all__ = [
    "Clipping",
    "ClippingPhoto",
    "Contact",
    "GrantDocument",
    "Judgement",
    "OfferedUse",
    "Search",
    "Use",
]

PERSON = settings.AUTH_USER_MODEL
STANDINGS = [(one.value, one.value) for one in Clearance]


def words(longest: int = 300) -> "models.CharField[str, str]":
    return models.CharField(max_length=longest, blank=True, default="")


def long_words() -> "models.TextField[str, str]":
    return models.TextField(blank=True, default="")


class Clipping(models.Model):
    """One source: a scrap, a paper, a print, and what is known of it."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="clippings")
    code = models.CharField(max_length=12)
    what = models.CharField(max_length=300)
    kind = models.CharField(
        max_length=24, choices=[(kind, kind) for kind in KINDS], default="other"
    )
    maker = words()
    publisher = words()
    made_on = words(80)
    place = words()
    edition = words()
    acquired_at = words()
    acquired_on = words(80)
    part_used = long_words()
    recognisable = words(8)
    matters = models.JSONField(default=dict, blank=True)
    rights_holder = words()
    holder_contact = long_words()
    territory = words()
    languages = words()
    term = words()
    print_run = words()
    editions = words()
    e_book = words()
    merchandise = words()
    fee = words()
    copies = words()
    credit_wording = long_words()
    document = words()
    remark = long_words()
    clearance = models.CharField(
        max_length=12, choices=STANDINGS, default=Clearance.UNKNOWN
    )
    because = long_words()
    clearance_since = models.DateTimeField()
    entered_by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["book", "code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["book", "code"], name="one_source_a_code")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.what}"


class Judgement(models.Model):
    """A change of clearance: by whom, when, why. Only added to."""

    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="judgements"
    )
    clearance = models.CharField(max_length=12, choices=STANDINGS)
    because = long_words()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["clipping", "at", "id"]

    def __str__(self) -> str:
        return self.clearance


class Contact(models.Model):
    """One letter, call or answer about a source. Only added to."""

    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="contacts"
    )
    on = models.DateField()
    whom = models.CharField(max_length=300)
    said = models.TextField()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["clipping", "on", "id"]

    def __str__(self) -> str:
        return f"{self.on} {self.whom}"


class ClippingPhoto(models.Model):
    """A photograph of a source: front, back, or the sheet before it was cut."""

    key = KeyField()
    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="photos"
    )
    side = models.CharField(max_length=8, choices=[(side, side) for side in SIDES])
    filename = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["clipping", "id"]

    def __str__(self) -> str:
        return f"{self.side}: {self.filename}"


class GrantDocument(models.Model):
    """The paper that a grant is written on; rights alone sends and reads it."""

    key = KeyField()
    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="documents"
    )
    filename = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["clipping", "id"]

    def __str__(self) -> str:
        return self.filename


class Use(models.Model):
    """Where a source lies: an item, a place on its sheet, from and until a revision."""

    key = KeyField()
    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="uses"
    )
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="uses")
    mark = models.CharField(
        max_length=8, choices=[(mark, mark) for mark in MARKS], blank=True, default=""
    )
    points = models.JSONField(default=list, blank=True)
    how = models.CharField(max_length=32, choices=[(how, how) for how in HOW])
    first_shown = models.ForeignKey(
        Revision, null=True, on_delete=models.PROTECT, related_name="+"
    )
    gone_from = models.ForeignKey(
        Revision, null=True, on_delete=models.PROTECT, related_name="+"
    )
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    taken_off_at = models.DateTimeField(null=True)
    event = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["item", "clipping", "id"]

    def __str__(self) -> str:
        return f"{self.clipping_id} on {self.item_id}"


class OfferedUse(models.Model):
    """A place the search thinks it found a source on; never assumed."""

    key = KeyField()
    clipping = models.ForeignKey(
        Clipping, on_delete=models.CASCADE, related_name="offered"
    )
    revision = models.ForeignKey(
        Revision, on_delete=models.CASCADE, related_name="offered_sources"
    )
    photo = models.ForeignKey(
        ClippingPhoto, null=True, on_delete=models.CASCADE, related_name="+"
    )
    points = models.JSONField(default=list)
    on_photo = models.JSONField(
        default=list, blank=True, help_text="The same piece on its photograph."
    )
    likeness = models.FloatField()
    recipe = models.CharField(max_length=32)
    at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        PERSON, null=True, on_delete=models.PROTECT, related_name="+"
    )
    accepted = models.BooleanField(null=True)

    class Meta:
        ordering: ClassVar = ["revision", "-likeness", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["clipping", "revision", "recipe", "points"],
                name="each_place_offered_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.clipping_id} perhaps on {self.revision_id}"


class Search(LeasedWork):
    """A laid picture searched for one photograph of a source; once for each recipe."""

    key = KeyField()
    photo = models.ForeignKey(
        ClippingPhoto, on_delete=models.CASCADE, related_name="searches"
    )
    revision = models.ForeignKey(
        Revision, on_delete=models.CASCADE, related_name="source_searches"
    )
    picture = models.CharField(max_length=80)
    recipe = models.CharField(max_length=32)
    found = models.BooleanField(null=True)

    class Meta:
        ordering: ClassVar = ["revision", "photo", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["photo", "revision", "picture", "recipe"],
                name="each_search_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.photo_id} sought on {self.revision_id}"
