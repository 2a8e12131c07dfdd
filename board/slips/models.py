"""Routing slips, initials, refusals and holds."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from board.books.models import Book, Item, KeyField, choices
from board.books.rules import Stage
from board.permits import Facet, Role
from board.revisions.models import Revision
from board.tissue.models import Note

__all__ = [
    "BookInitial",
    "BookSlip",
    "FormatChange",
    "Hold",
    "Initial",
    "LookAgain",
    "Refusal",
    "Reopening",
    "Slip",
]

FACETS = [(facet.value, facet.value) for facet in Facet]


class Slip(models.Model):
    """One showing of a revision to everybody who must look."""

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="slips")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    revision = models.ForeignKey(
        Revision, on_delete=models.PROTECT, related_name="slips"
    )
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    left = models.CharField(
        max_length=16,
        blank=True,
        default="",
        help_text="The standing it was sent from.",
    )
    short = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["item", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "stage"],
                condition=models.Q(closed_at=None),
                name="one_open_slip",
            )
        ]

    def __str__(self) -> str:
        return f"slip {self.key}"


class Initial(models.Model):
    """One person's initial at one station, bound to what was really shown."""

    class Kind(models.TextChoices):
        OK = "OK"
        AS_CORRECTED = "OK as corrected"
        CARRIED = "carried"

    key = KeyField()
    slip = models.ForeignKey(Slip, on_delete=models.PROTECT, related_name="initials")
    facet = models.CharField(max_length=10, choices=FACETS)
    role = models.CharField(max_length=16, choices=choices(Role))
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="initials_given",
    )
    principal = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        on_delete=models.PROTECT,
        related_name="initials_by_deputy",
        help_text="For whom it was given, when a deputy signed p.p.",
    )
    kind = models.CharField(max_length=16, choices=Kind.choices)
    seen_sha256 = models.CharField(max_length=64)
    bound_sha256 = models.CharField(max_length=64)
    text_version = models.PositiveIntegerField(default=0)
    receipt = models.TextField()
    sources = models.CharField(
        max_length=64,
        blank=True,
        default="",
        help_text="For clearance: the digest of the item's source list then.",
    )
    event = models.CharField(max_length=64)
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_because = models.CharField(max_length=200, blank=True, default="")
    justified = models.CharField(
        max_length=64, blank=True, default="", help_text="Digest of what carried it."
    )
    listed_checks = models.JSONField(default=list)
    listed = models.ManyToManyField(Note, related_name="listed_in", blank=True)

    class Meta:
        ordering: ClassVar = ["slip", "at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["slip", "facet"],
                condition=models.Q(ended_at=None),
                name="one_live_initial_a_facet",
            ),
            models.UniqueConstraint(
                fields=["person", "event", "facet"], name="each_initial_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.facet}: {self.kind}"


class Refusal(models.Model):
    """A must line said no; the note sheet falls due."""

    slip = models.ForeignKey(Slip, on_delete=models.PROTECT, related_name="refusals")
    facet = models.CharField(max_length=10, choices=FACETS)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="+")
    reason = models.TextField(blank=True, default="")
    event = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person", "event"], name="each_refusal_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.facet} refused"


class Hold(models.Model):
    """Stops initials and OK on an item until the role that held lets go."""

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="holds")
    role = models.CharField(max_length=16, choices=choices(Role))
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    reason = models.TextField()
    at = models.DateTimeField()
    released_at = models.DateTimeField(null=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item", "role"],
                condition=models.Q(released_at=None),
                name="each_role_holds_once",
            )
        ]

    def __str__(self) -> str:
        return f"held by {self.role}"


class Reopening(models.Model):
    """An OK taken off on purpose: asked by one, agreed by another; a ledger line."""

    class Code(models.TextChoices):
        AUTHOR = "AA", "author's alteration"
        EDITOR = "EA", "editor's alteration"
        DESIGNER = "DA", "designer's alteration"
        ILLUSTRATOR = "IA", "illustrator's alteration"
        RIGHTS = "RA", "rights alteration"
        PRINTER = "PE", "printer's error"

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reopenings")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    code = models.CharField(max_length=2, choices=Code.choices)
    reason = models.TextField()
    payer = models.CharField(max_length=120)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    asked_at = models.DateTimeField()
    agreed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    agreed_at = models.DateTimeField(null=True)
    dropped_at = models.DateTimeField(null=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["item"],
                condition=models.Q(agreed_at=None, dropped_at=None),
                name="one_reopening_asked",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code}: {self.reason[:40]}"


class FormatChange(models.Model):
    """Another trim, bleed or extent (T18): a ledger line. Only added to."""

    key = KeyField()
    book = models.ForeignKey(
        Book, on_delete=models.PROTECT, related_name="format_changes"
    )
    before = models.JSONField()
    after = models.JSONField()
    code = models.CharField(max_length=2, choices=Reopening.Code.choices)
    payer = models.CharField(max_length=120)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["book", "id"]

    def __str__(self) -> str:
        return f"{self.code}: {self.reason[:40]}"


class LookAgain(models.Model):
    """A flag: something beside this item was reopened. It takes nothing off."""

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="look_again")
    beside = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="+")
    why = models.CharField(max_length=200)
    at = models.DateTimeField()
    looked_at = models.DateTimeField(null=True)
    looked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["item", "id"]

    def __str__(self) -> str:
        return self.why


class BookSlip(models.Model):
    """The last slip: bound to the hash of the ordered list of what was agreed."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="book_slips")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    list_hash = models.CharField(max_length=64)
    listing = models.JSONField(
        help_text="[[item key, revision checksum, item text version], ...] in page order."
    )
    opened_at = models.DateTimeField()
    complete_at = models.DateTimeField(null=True)
    lapsed_at = models.DateTimeField(null=True)
    lapsed_because = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["book", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["book", "stage"],
                condition=models.Q(lapsed_at=None),
                name="one_live_book_slip",
            )
        ]

    def __str__(self) -> str:
        return f"book slip {self.list_hash[:8]}"


class BookInitial(models.Model):
    """One station's initial on the book slip."""

    key = KeyField()
    slip = models.ForeignKey(
        BookSlip, on_delete=models.PROTECT, related_name="initials"
    )
    role = models.CharField(max_length=16, choices=choices(Role))
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    principal = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    event = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["slip", "role"], name="each_station_once"),
            models.UniqueConstraint(
                fields=["person", "event"], name="each_book_initial_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.role} on {self.slip_id}"
