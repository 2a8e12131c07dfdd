"""Where an item stands, told to one reader."""

from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from accounts.models import Person
from board.books.models import Item
from board.slips.api.asking import FACETS, INITIAL_KINDS, ROLES, STAGE_NAMES
from board.slips.models import Hold, Reopening
from board.slips.queries.lines import (
    acts_on,
    holds_on,
    listable,
    reopening_seen,
    slip_lines,
    standing_of,
)
from board.slips.queries.sentences import why_not_ok_told


class SlipLineSerializer(serializers.Serializer[Any]):
    """A line of the routing slip, as far as the reader may know it."""

    station = serializers.ChoiceField(ROLES)
    facet = serializers.ChoiceField(FACETS)
    asked = serializers.CharField()
    group = serializers.IntegerField()
    who = serializers.CharField(allow_blank=True)
    state = serializers.CharField()
    initials = serializers.CharField(allow_blank=True)
    kind = serializers.ChoiceField(["", *INITIAL_KINDS], allow_blank=True)
    at = serializers.DateTimeField(allow_null=True)
    mine = serializers.BooleanField()
    initial_key = serializers.CharField(allow_blank=True)
    why_not = serializers.ListField(child=serializers.CharField())


class StageSerializer(serializers.Serializer[Any]):
    stage = serializers.ChoiceField(STAGE_NAMES)
    standing = serializers.CharField()
    since = serializers.DateTimeField(allow_null=True)
    due = serializers.DateField(allow_null=True)
    waived = serializers.CharField(allow_blank=True, help_text="Why it is left out.")


class HoldSerializer(serializers.Serializer[Any]):
    key = serializers.CharField()
    role = serializers.ChoiceField(ROLES)
    by = serializers.CharField()
    reason = serializers.CharField()
    since = serializers.DateTimeField()


class ReopeningSerializer(serializers.Serializer[Any]):
    """A reopening that waits for the other's word."""

    key = serializers.CharField()
    stage = serializers.ChoiceField(STAGE_NAMES)
    code = serializers.ChoiceField(Reopening.Code.choices)
    reason = serializers.CharField()
    payer = serializers.CharField()
    by = serializers.CharField()


class StandingSerializer(serializers.Serializer[Any]):
    """Where an item stands and what keeps it from OK."""

    item = serializers.CharField()
    stage = serializers.ChoiceField(STAGE_NAMES, allow_null=True)
    standing = serializers.CharField()
    since = serializers.DateTimeField(allow_null=True)
    held = serializers.BooleanField()
    why_not_ok = serializers.ListField(child=serializers.CharField())
    acts = serializers.ListField(child=serializers.CharField())
    listable = serializers.ListField(
        child=serializers.CharField(),
        help_text="Notes that you may list in an OK as corrected.",
    )
    stages = StageSerializer(many=True)
    slip = SlipLineSerializer(many=True)
    holds = HoldSerializer(many=True)
    reopening = ReopeningSerializer(allow_null=True)


def told_standing(item: Item, person: Person) -> dict[str, Any]:
    """Everything about the item's standing that this reader may know."""
    row = standing_of(item)
    holds = holds_on(item)
    return {
        "item": item.key,
        "stage": row.stage if row else None,
        "standing": row.standing if row else "shut",
        "since": row.since if row else None,
        "held": bool(holds),
        "why_not_ok": why_not_ok_told(item, person),
        "acts": acts_on(item, person),
        "listable": listable(item, person),
        "stages": list(item.stages.all()),
        "slip": told_lines(item, person),
        "holds": [_told_hold(held) for held in holds],
        "reopening": _told_reopening(item, person),
    }


def told_lines(item: Item, person: Person) -> list[dict[str, Any]]:
    """The slip's lines as this reader may know them."""
    return [asdict(line) for line in slip_lines(item, person)]


def _told_hold(held: Hold) -> dict[str, Any]:
    return {
        "key": held.key,
        "role": held.role,
        "by": held.by.initials,
        "reason": held.reason,
        "since": held.at,
    }


def _told_reopening(item: Item, person: Person) -> dict[str, Any] | None:
    asked = reopening_seen(item, person)
    if asked is None:
        return None
    told = {name: getattr(asked, name) for name in ("key", "stage", "code")}
    told |= {"reason": asked.reason, "payer": asked.payer}
    return told | {"by": asked.asked_by.initials}
