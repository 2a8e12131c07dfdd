"""Books, items, stages, boxes, text versions, credits and invitations."""

from typing import ClassVar

from django.conf import settings
from django.db import models

from accounts.rules import new_key
from board.books.rules import DRAWN, Ends, Kind, Stage, Standing
from board.permits import Role

__all__ = [
    "Book",
    "Box",
    "Credit",
    "Deputy",
    "Invitation",
    "Item",
    "ItemStage",
    "ItemText",
    "TextVersion",
    "Typeface",
]


class KeyField(models.CharField):  # type: ignore[type-arg]  # stubs: no parameters
    """An unguessable name used in addresses instead of running numbers."""

    def __init__(self, **options: object) -> None:
        options |= {"max_length": 16, "unique": True, "default": new_key}
        options["editable"] = False
        super().__init__(**options)  # type: ignore[arg-type]  # mixed options


def choices(
    words: type[Stage | Standing | Ends | Kind | Role],
) -> list[tuple[str, str]]:
    return [(word.value, word.value) for word in words]


class Book(models.Model):
    """A picture book in the making; lengths in millimetres."""

    class Preset(models.TextChoices):
        HOUSE = "house", "A house: each station its own person"
        STUDIO = "studio", "A small studio: three stations"

    key = KeyField()
    title = models.CharField(max_length=200)
    house = models.CharField(max_length=200, blank=True, default="")
    trim_width_mm = models.FloatField()
    trim_height_mm = models.FloatField()
    extent = models.PositiveSmallIntegerField(default=32)
    ends = models.CharField(max_length=16, choices=choices(Ends), default=Ends.SELF)
    bleed_mm = models.FloatField(default=3.0)
    safe_mm = models.FloatField(default=6.35)
    gutter_mm = models.FloatField(default=9.525)
    preset = models.CharField(
        max_length=8, choices=Preset.choices, default=Preset.HOUSE
    )
    author_approves = models.BooleanField(default=True)
    notes_at_once = models.BooleanField(default=False)
    stations = models.JSONField(
        default=dict,
        blank=True,
        help_text="Facet: how it is asked at each stage, where not as in the preset.",
    )
    type_face = models.CharField(max_length=80, blank=True, default="")
    type_pt = models.FloatField(default=18.0)
    leading_pt = models.FloatField(default=24.0)
    art_percent = models.FloatField(
        default=100.0, help_text="How large the art is painted, of its printed size."
    )
    words_a_minute = models.PositiveSmallIntegerField(default=150)
    days_house = models.PositiveSmallIntegerField(default=10)
    days_author = models.PositiveSmallIntegerField(default=7)
    days_artist = models.PositiveSmallIntegerField(default=15)
    days_corrections = models.PositiveSmallIntegerField(default=10)
    ppi_warn = models.PositiveSmallIntegerField(default=300)
    ppi_stop = models.PositiveSmallIntegerField(default=200)
    made_at = models.DateTimeField(auto_now_add=True)
    entries = models.PositiveIntegerField(default=0)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.title

    @property
    def is_studio(self) -> bool:
        return self.preset == self.Preset.STUDIO


class Item(models.Model):
    """A spread, single page, ends, title, jacket or case."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="items")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=choices(Kind))
    first_page = models.PositiveSmallIntegerField(default=0)
    last_page = models.PositiveSmallIntegerField(default=0)
    label = models.CharField(max_length=40)
    story = models.BooleanField(default=False)
    set_aside = models.BooleanField(default=False)
    alt_text = models.TextField(blank=True, default="")
    picture_adds = models.CharField(
        max_length=300,
        blank=True,
        default="",
        help_text="What the picture tells that the words do not.",
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["book", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["book", "position"], name="one_place_each")
        ]

    def __str__(self) -> str:
        return f"{self.book}, {self.label}"

    @property
    def is_double(self) -> bool:
        """Whether it lies over two pages, with the gutter in the middle."""
        return self.last_page > self.first_page or self.first_page == 0

    @property
    def width_mm(self) -> float:
        return self.book.trim_width_mm * (2 if self.is_double else 1)

    @property
    def height_mm(self) -> float:
        return self.book.trim_height_mm


class ItemStage(models.Model):
    """One item at one stage: its standing, moved by `slips` alone."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="stages")
    stage = models.CharField(max_length=12, choices=choices(Stage))
    order = models.PositiveSmallIntegerField()
    standing = models.CharField(
        max_length=16, choices=choices(Standing), default=Standing.SHUT
    )
    since = models.DateTimeField(null=True)
    waived = models.TextField(blank=True, default="")
    due = models.DateField(null=True)
    moves = models.PositiveIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["item", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "stage"], name="each_stage_once")
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.stage}: {self.standing}"

    @property
    def is_drawn(self) -> bool:
        return Stage(self.stage) in DRAWN


class Box(models.Model):
    """A type box or a focal box, in fractions of the trimmed sheet."""

    class Sort(models.TextChoices):
        TYPE = "type", "type box"
        FOCAL = "focal", "focal box"

    key = KeyField()
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="boxes")
    sort = models.CharField(max_length=8, choices=Sort.choices)
    label = models.CharField(max_length=80, blank=True, default="")
    x = models.FloatField()
    y = models.FloatField()
    width = models.FloatField()
    height = models.FloatField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["item", "sort", "id"]

    def __str__(self) -> str:
        return self.label or self.get_sort_display()


class TextVersion(models.Model):
    """A numbered state of the book's words."""

    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="texts")
    number = models.PositiveIntegerField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()
    reason = models.CharField(max_length=300, blank=True, default="")
    code = models.CharField(max_length=2, blank=True, default="")
    payer = models.CharField(max_length=120, blank=True, default="")
    asked_by = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["book", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["book", "number"], name="one_text_a_number")
        ]

    def __str__(self) -> str:
        return f"text version {self.number}"


class ItemText(models.Model):
    """An item's words from this text version on; only items whose words changed."""

    text = models.ForeignKey(
        TextVersion, on_delete=models.CASCADE, related_name="parts"
    )
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="texts")
    words = models.TextField(blank=True, default="")
    art_note = models.TextField(blank=True, default="")

    class Meta:
        ordering: ClassVar = ["item", "text"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["text", "item"], name="one_text_an_item")
        ]

    def __str__(self) -> str:
        return self.words[:40]


class Credit(models.Model):
    """A person's credit on a book; it ends, it is never deleted."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="credits")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="credits"
    )
    role = models.CharField(max_length=16, choices=choices(Role))
    given_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["book", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["book", "person", "role"],
                condition=models.Q(ended_at=None),
                name="each_live_credit_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person_id} {self.role}"


class Deputy(models.Model):
    """Somebody who signs p.p. at another's station for some days; never deleted."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="deputies")
    role = models.CharField(max_length=16, choices=choices(Role))
    principal = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="deputised"
    )
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="deputies_for"
    )
    named_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    named_at = models.DateTimeField()
    first_day = models.DateField()
    last_day = models.DateField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["book", "first_day", "id"]
        verbose_name_plural = "deputies"

    def __str__(self) -> str:
        return f"{self.person_id} for {self.principal_id} as {self.role}"


class Typeface(models.Model):
    """The face a book is set in: its measures alone, never the file."""

    book = models.OneToOneField(Book, on_delete=models.CASCADE, related_name="typeface")
    name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    widths = models.JSONField(
        help_text="Advance widths in thousandths of the size, by character code."
    )
    usual_width = models.FloatField(help_text="For characters that it lacks.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class Invitation(models.Model):
    """A mailed invitation onto one book, with one or more credits."""

    key = KeyField()
    book = models.ForeignKey(Book, on_delete=models.CASCADE, related_name="invitations")
    email = models.EmailField()
    name = models.CharField(max_length=120, blank=True, default="")
    roles = models.JSONField(default=list)
    token_hash = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.email} onto {self.book_id}"
