"""Uploads, storyboard sheets and revisions: what came in and how it was laid."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField, choices
from board.books.rules import Stage
from board.repro.models import LeasedWork

__all__ = ["Revision", "StoryboardSheet", "Upload"]


class Upload(models.Model):
    """A file on its way in; a part file holds what came so far."""

    class State(models.TextChoices):
        RECEIVING = "receiving"
        ARRIVED = "arrived"
        TAKEN_IN = "taken in"
        REFUSED = "refused"
        ENDED = "ended"

    key = KeyField()
    book_key = models.CharField(max_length=16, db_index=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="uploads"
    )
    filename = models.CharField(max_length=255)
    length = models.BigIntegerField()
    sha256 = models.CharField(max_length=64, blank=True, default="")
    state = models.CharField(
        max_length=10, choices=State.choices, default=State.RECEIVING
    )
    refused = models.TextField(blank=True, default="")
    item = models.ForeignKey(
        Item, null=True, on_delete=models.SET_NULL, related_name="uploads"
    )
    stage = models.CharField(
        max_length=12, choices=choices(Stage), blank=True, default=""
    )
    declared = models.CharField(max_length=10, blank=True, default="bled")
    sure = models.BooleanField(
        default=False,
        help_text="Sent from the item's own page, so no match to confirm.",
    )
    storyboard = models.BooleanField(
        default=False, help_text="A sheet of all thumbnails, to be cut into frames."
    )
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.filename


class StoryboardSheet(LeasedWork):
    """One page with all thumbnails, and its cut; its sender's alone."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="storyboards")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    upload = models.OneToOneField(
        Upload, null=True, on_delete=models.SET_NULL, related_name="storyboard_sheet"
    )
    filename = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    size = models.BigIntegerField()
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    sent_at = models.DateTimeField()
    frames = models.JSONField(
        default=list,
        help_text="In reading order: corners in fractions of the sheet, and the item.",
    )
    sure = models.BooleanField(default=False)
    doubts = models.JSONField(default=list)
    laid_out_at = models.DateTimeField(null=True)
    put_away_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["-sent_at", "-pk"]
        indexes: ClassVar = [
            models.Index(fields=["work", "lease_until"], name="storyboard_work")
        ]

    def __str__(self) -> str:
        return self.filename


class Revision(LeasedWork):
    """One immutable upload for an item at a stage; numbered when it is sent up."""

    class Laid(models.TextChoices):
        NOT_YET = "", "not laid yet"
        BLED = "bled", "declared: shows the whole bled sheet"
        TRIMMED = "trimmed", "declared: cut to the trim"
        CORNERS = "corners", "four corners tapped"
        REGISTERED = "registered", "registered to an earlier revision"
        BY_HAND = "by hand", "matched points"

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="revisions")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    number = models.PositiveIntegerField(
        null=True, help_text="Empty while it lies in the folder."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    upload = models.OneToOneField(
        Upload, null=True, on_delete=models.SET_NULL, related_name="revision"
    )
    storyboard = models.ForeignKey(
        StoryboardSheet,
        null=True,
        on_delete=models.PROTECT,
        related_name="revisions",
        help_text="The sheet it is a frame of; then the file is the whole sheet.",
    )
    frame = models.PositiveSmallIntegerField(
        null=True, help_text="Which frame of it, in reading order from 1."
    )
    filename = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64, db_index=True)
    size = models.BigIntegerField()
    format = models.CharField(max_length=12, blank=True, default="")
    mode = models.CharField(max_length=12, blank=True, default="")
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    uploaded_at = models.DateTimeField()
    sent_up_at = models.DateTimeField(null=True)
    put_away_at = models.DateTimeField(
        null=True, help_text="Thrown out of the folder by the illustrator."
    )

    declared = models.CharField(max_length=10, blank=True, default="bled")
    laid = models.CharField(
        max_length=10, choices=Laid.choices, blank=True, default=Laid.NOT_YET
    )
    matrix = models.JSONField(
        null=True, help_text="3 x 3, upright pixels to sheet fractions, row by row."
    )
    laid_on = models.ForeignKey(
        "self", null=True, on_delete=models.PROTECT, related_name="+"
    )
    confidence = models.FloatField(null=True)
    error_bar_mm = models.FloatField(null=True)
    residual_mm = models.FloatField(
        null=True, help_text="How far it lies off the stage's first one, at the worst."
    )
    unlaid_because = models.TextField(blank=True, default="")
    points = models.JSONField(
        default=list, help_text="Corners or matched points the artist gave."
    )
    picture = models.CharField(
        max_length=80, blank=True, default="", help_text="Key of the laid picture."
    )

    class Meta:
        ordering: ClassVar = ["item", "stage", "number", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "stage", "number"],
                condition=models.Q(number__isnull=False),
                name="one_revision_a_number",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["work", "lease_until"], name="revision_work")
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.number or 'in the folder'}"

    @property
    def is_up(self) -> bool:
        return self.number is not None

    @property
    def short_code(self) -> str:
        """The same few letters of the checksum on every screen and print."""
        return f"{self.sha256[:4]} {self.sha256[4:8]}"
