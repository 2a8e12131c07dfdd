"""What must be the same after a restore: the daybook, every standing, every row."""

import hashlib
from typing import Any

from django.apps import apps
from django.db import connections
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model

from board.books.models import ItemStage
from board.checks.models import PrintingCondition
from board.clippings.models import ClippingPhoto
from board.daybook.models import Entry
from board.revisions.models import Revision, StoryboardSheet

# Ways in and the queue come and go while a board runs and settle nothing.
PASSING = frozenset(
    {"accounts.SignInLink", "sessions.Session", "django_tasks_db.DBTaskResult"}
)


def facts(using: str = "default") -> dict[str, Any]:
    """Give the last entry of every daybook, every standing, and a sum of every table."""
    migrations = MigrationRecorder(connections[using]).applied_migrations()
    return {
        "engine": connections[using].vendor,
        "migrations": sorted(f"{app}.{name}" for app, name in migrations),
        "daybook": heads(using),
        "standing": standings(using),
        "rows": {
            model._meta.label: rows(model, using)
            for model in apps.get_models()
            if model._meta.label not in PASSING
        },
    }


def heads(using: str) -> dict[str, list[Any]]:
    """Give number and chain of the last entry in each book's daybook."""
    last: dict[str, list[Any]] = {}
    entries = Entry.objects.using(using).order_by("book_key", "number")
    for key, number, chain in entries.values_list("book_key", "number", "chain"):
        last[key] = [number, chain]
    return last


def standings(using: str) -> dict[str, str]:
    """Give the standing of every item at every stage."""
    stages = ItemStage.objects.using(using).values_list(
        "item__key", "stage", "standing"
    )
    return {f"{item} {stage}": standing for item, stage, standing in stages}


def rows(model: type[Model], using: str) -> list[Any]:
    """Give how many rows a table has and one checksum over all of them."""
    digest, count = hashlib.sha256(), 0
    ordered = model._base_manager.using(using).order_by("pk")
    for row in ordered.values_list().iterator(chunk_size=500):
        digest.update(repr(row).encode())
        count += 1
    return [count, digest.hexdigest()]


def originals_named(using: str) -> set[str]:
    """Give the checksums of every original the record still stands on."""
    kept = Revision.objects.using(using).filter(put_away_at=None)
    photos = ClippingPhoto.objects.using(using).values_list("sha256", flat=True)
    presses = PrintingCondition.objects.using(using).exclude(profile_sha256="")
    profiles = presses.values_list("profile_sha256", flat=True)
    sheets = StoryboardSheet.objects.using(using).filter(put_away_at=None)
    storyboards = sheets.values_list("sha256", flat=True)
    drawn = kept.values_list("sha256", flat=True)
    return {*drawn, *storyboards, *photos, *profiles}


def differences(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """Name in words what is not the same."""
    names = ("daybook", "standing")
    found = [name for name in names if before[name] != after[name]]
    tables = before["rows"].keys() & after["rows"].keys()
    found += sorted(
        name for name in tables if before["rows"][name] != after["rows"][name]
    )
    return found
