"""Work that outlives the process which does it: a row is the truth, a queue rings."""

from django.db import models


class LeasedWork(models.Model):
    """Steps of long work on a picture, held by one worker at a time."""

    class State(models.TextChoices):
        WAITING = "waiting"
        WORKING = "working"
        DONE = "done"
        FAILED = "failed"

    work = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    step = models.CharField(max_length=20, default="", blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_owner = models.CharField(max_length=64, default="", blank=True)
    lease_until = models.DateTimeField(null=True)
    failure = models.TextField(default="", blank=True)

    class Meta:
        abstract = True
