"""Notes on the tissue, replies, note sheets and rulings on pairs."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Item, KeyField, choices
from board.books.rules import Stage
from board.permits import Facet, Role
from board.revisions.models import Revision

__all__ = [
    "ChangeWord",
    "Note",
    "NotePicture",
    "NoteSheet",
    "PairRuling",
    "Reply",
    "SheetLine",
]


class Note(models.Model):
    """Words pinned to a place on the sheet; it stays there through every revision."""

    class Class(models.TextChoices):
        DIRECTION = "direction"
        SUGGESTION = "suggestion"
        COMMENT = "comment"
        KEEP = "keep"
        QUERY = "query"

    class Mark(models.TextChoices):
        NOWHERE = "", "the whole sheet"
        POINT = "point"
        BOX = "box"
        LOOP = "loop"
        POLYGON = "polygon"

    class State(models.TextChoices):
        WITH_EDITOR = "with editor"
        OPEN = "open"
        LATE = "late"
        STANDS = "stands"
        DONE = "done"
        ANSWERED = "answered"
        STET = "stet"
        WITHDRAWN = "withdrawn"
        DECLINED = "declined"
        MERGED = "merged"
        NOTED = "noted"
        LEFT = "left to the artist"

    class Answer(models.TextChoices):
        NONE = "", "no answer yet"
        DONE = "done"
        NOT_DONE = "not done because"
        QUERY = "query"

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="notes")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    raised_stage = models.CharField(max_length=12, choices=choices(Stage))
    made_on = models.ForeignKey(
        Revision, on_delete=models.PROTECT, related_name="notes_made"
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="notes"
    )
    role = models.CharField(max_length=16, choices=choices(Role))
    facet = models.CharField(max_length=10, choices=[(f.value, f.value) for f in Facet])
    sort = models.CharField("class", max_length=10, choices=Class.choices)
    words = models.TextField()
    mark = models.CharField(
        max_length=8, choices=Mark.choices, blank=True, default=Mark.NOWHERE
    )
    points = models.JSONField(
        default=list, help_text="[[x, y], ...] on the sheet; a box is two corners."
    )
    place_unknown = models.BooleanField(default=False)
    state = models.CharField(max_length=20, choices=State.choices)
    raised_at = models.DateTimeField()
    edited_at = models.DateTimeField(null=True)
    event = models.CharField(max_length=64)
    passed_at = models.DateTimeField(null=True)
    passed_words = models.TextField(blank=True, default="")
    issued_at = models.DateTimeField(null=True)
    line = models.CharField(
        max_length=8, blank=True, default="", help_text="First issued as, like 2.3."
    )
    answer = models.CharField(
        max_length=18, choices=Answer.choices, blank=True, default=Answer.NONE
    )
    answer_words = models.TextField(blank=True, default="")
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    ruling = models.TextField(blank=True, default="")
    merged_into = models.ForeignKey(
        "self", null=True, on_delete=models.PROTECT, related_name="merged"
    )
    listed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    waits_for = models.CharField(
        max_length=12,
        blank=True,
        default="",
        help_text="Of a late note: what the art director lets it wait for.",
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["item", "raised_at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["by", "event"], name="each_note_once")
        ]
        indexes: ClassVar = [
            models.Index(fields=["item", "stage", "state"], name="note_open")
        ]

    def __str__(self) -> str:
        return f"{self.sort}: {self.words[:40]}"


class Reply(models.Model):
    """A word under a note."""

    key = KeyField()
    note = models.ForeignKey(Note, on_delete=models.CASCADE, related_name="replies")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    words = models.TextField()
    at = models.DateTimeField()
    event = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["note", "at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["by", "event"], name="each_reply_once")
        ]

    def __str__(self) -> str:
        return self.words[:40]


class NotePicture(models.Model):
    """A reference picture under a note; its bytes lie in `repro` under its key."""

    key = KeyField()
    note = models.ForeignKey(Note, on_delete=models.CASCADE, related_name="pictures")
    filename = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()
    taken_off_at = models.DateTimeField(null=True)
    event = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["note", "at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["by", "event"], name="each_note_picture_once"
            )
        ]

    def __str__(self) -> str:
        return self.filename


class NoteSheet(models.Model):
    """A frozen, numbered list of notes, issued to the artist."""

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="note_sheets")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    number = models.PositiveIntegerField()
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    short = models.BooleanField(
        default=False, help_text="Made by itself at OK as corrected."
    )
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    issued_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["item", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "number"], name="one_sheet_a_number"
            )
        ]

    def __str__(self) -> str:
        return f"note sheet {self.number}"


class SheetLine(models.Model):
    """A line of a note sheet, frozen as it was issued."""

    sheet = models.ForeignKey(NoteSheet, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveIntegerField()
    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="lines")
    sort = models.CharField(max_length=10)
    initials = models.CharField(max_length=4)
    words = models.TextField()
    points = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["sheet", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["sheet", "number"], name="one_line_a_number"
            )
        ]

    def __str__(self) -> str:
        return f"{self.sheet.number}.{self.number}"


class PairRuling(models.Model):
    """The art director's word on two directions that lie on the same place."""

    class Ruling(models.TextChoices):
        CLASH = "clash"
        SAME = "same"
        UNRELATED = "unrelated"

    one = models.ForeignKey(Note, on_delete=models.CASCADE, related_name="+")
    other = models.ForeignKey(Note, on_delete=models.CASCADE, related_name="+")
    ruling = models.CharField(max_length=10, choices=Ruling.choices)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["one", "other"], name="each_pair_ruled_once"
            )
        ]

    def __str__(self) -> str:
        return self.ruling


class ChangeWord(models.Model):
    """The artist's word on a change that nobody asked for."""

    key = KeyField()
    before = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="+")
    after = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="+")
    region = models.JSONField(
        help_text="[x, y, width, height] of the change on the sheet, when it was named."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    words = models.CharField(max_length=400)
    note = models.ForeignKey(
        Note, null=True, on_delete=models.PROTECT, related_name="named_in"
    )
    at = models.DateTimeField()
    event = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["by", "event"], name="each_word_once")
        ]

    def __str__(self) -> str:
        return self.words
