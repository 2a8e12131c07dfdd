"""People, and the one-time links that let them in."""

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from accounts.rules import initials_of, new_key


class People(BaseUserManager["Person"]):
    """Finds and makes people."""

    def create_person(
        self, *, email: str, name: str, initials: str = "", password: str | None = None
    ) -> "Person":
        """Make a person; without a password they come in by mailed links only."""
        person = self.model(
            email=self.normalize_email(email).lower(),
            name=name,
            initials=initials or initials_of(name),
        )
        person.set_password(password)
        person.full_clean(exclude=["password"])
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(email__iexact=username or "")


class Person(AbstractBaseUser):
    """Somebody who signs in; what they may do is on their credits."""

    key = models.CharField(max_length=16, unique=True, default=new_key, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    initials = models.CharField(max_length=4)
    time_zone = models.CharField(max_length=64, default="", blank=True)
    is_active = models.BooleanField(default=True)
    keeps_house = models.BooleanField(
        default=False, help_text="May make books and look after the board."
    )
    joined_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[People] = People()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(Lower("email"), name="one_person_an_address")
        ]

    def __str__(self) -> str:
        return self.name


class SignInLink(models.Model):
    """A one-time way in, mailed; only the hash of its token is kept."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="links")
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField(auto_now_add=True)
    many_times = models.BooleanField(default=False)
    bound = models.BooleanField(
        default=False,
        help_text="Opens only on a device by which its person came in before.",
    )

    def __str__(self) -> str:
        return f"way in for {self.person_id}"


class Knock(models.Model):
    """Somebody asked to come in; counted, so that nobody can try for ever.

    `who` is a keyed hash of a mail address or a network address, never either.
    """

    door = models.CharField(max_length=8)
    who = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["door", "who", "at"], name="knock_count")
        ]

    def __str__(self) -> str:
        return f"{self.door} at {self.at}"
