"""Moves of an item from one standing to the next, and what happened in a book."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.models import Person
from board.books.models import Item
from board.books.queries import book_for, item_for
from board.daybook.rules import Happened
from board.errors import NotFound, NotUnderstood
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import KEY, link_header, person_of, read
from board.revisions.queries import revision_for
from board.slips.actions import holds, reopenings, stages
from board.slips.api.asking import MoveSerializer
from board.slips.api.standing import StandingSerializer, told_standing
from board.slips.queries.events import events_for
from board.slips.queries.lines import holds_on, reopening_seen

Said = dict[str, Any]
MOST = 500
SINCE = OpenApiParameter(
    "since", int, default=0, description="Your number of the last one you know."
)
LIMIT = OpenApiParameter("limit", int, default=100, description=f"At most {MOST}.")


class EventToldSerializer(serializers.Serializer[Any]):
    """One thing that happened, under the reader's own number."""

    number = serializers.IntegerField()
    kind = serializers.ChoiceField([kind.value for kind in Happened])
    at = serializers.DateTimeField()
    who = serializers.CharField()
    initials = serializers.CharField(allow_blank=True)
    sentence = serializers.CharField()
    item = serializers.CharField(allow_blank=True)
    stage = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    short_code = serializers.CharField(allow_blank=True)
    text_version = serializers.IntegerField(allow_null=True)


class WindowSerializer(serializers.Serializer[Any]):
    since = serializers.IntegerField(default=0, min_value=0, max_value=2**31)
    limit = serializers.IntegerField(default=100, min_value=1, max_value=MOST)


@extend_schema(parameters=[KEY])
class Moves(APIView):
    """What moves an item."""

    @extend_schema(
        operation_id="move",
        request=MoveSerializer,
        responses={200: StandingSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Do the move; the answer is where the item stands now."""
        person = person_of(request)
        item = item_for(person, key)
        said = read(MoveSerializer, request)
        DO[said["move"]](person, item, said)
        told = told_standing(item_for(person, key), person)
        return Response(StandingSerializer(told).data)


def _needed(said: Said, *names: str) -> Said:
    missing = [name for name in names if not said.get(name)]
    if missing:
        told = [f"`{name}` is missing." for name in missing]
        raise NotUnderstood(" ".join(told), *told)
    return {name: said[name] for name in names}


def _open_stage(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "stage", "event")
    stages.open_stage(by=by, item=item, due=said.get("due"), **more)


def _waive_stage(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "stage", "event")
    stages.waive_stage(by=by, item=item, reason=said["reason"], **more)


def _send_up(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "revision", "event")
    revision = revision_for(by, more["revision"], Act.SEND_UP)
    if revision.item_id != item.pk:
        raise NotUnderstood("That revision belongs to another item.")
    stages.send_up(by=by, revision=revision, event=more["event"])


def _stand_by(by: Person, item: Item, said: Said) -> None:
    stages.stand_by(by=by, item=item, event=said["event"])


def _hold(by: Person, item: Item, said: Said) -> None:
    more = {"reason": said["reason"], "role": said.get("role", "")}
    holds.hold(by=by, item=item, event=said["event"], **more)


def _release(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "hold", "event")
    held = {one.key: one for one in holds_on(item)}.get(more["hold"])
    if held is None:
        raise NotFound("Nothing under that key holds this item (any more).")
    holds.release(by=by, held=held, event=more["event"])


def _ask_reopening(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "stage", "event")
    draft = {name: said.get(name, "") for name in ("code", "reason", "payer")}
    reopenings.ask_reopening(by=by, item=item, draft=draft, **more)


def _agree_reopening(by: Person, item: Item, said: Said) -> None:
    more = _needed(said, "reopening", "event")
    asked = reopening_seen(item, by)
    if asked is None or asked.key != more["reopening"]:
        raise NotFound("No reopening under that key waits for an answer.")
    reopenings.agree_reopening(by=by, reopening=asked, event=more["event"])


DO: dict[str, Callable[[Person, Item, Said], None]] = {
    "open_stage": _open_stage,
    "waive_stage": _waive_stage,
    "send_up": _send_up,
    "stand_by": _stand_by,
    "hold": _hold,
    "release": _release,
    "ask_reopening": _ask_reopening,
    "agree_reopening": _agree_reopening,
}


@extend_schema(parameters=[KEY])
class Events(APIView):
    """What happened in a book."""

    @extend_schema(
        operation_id="events_list",
        parameters=[SINCE, LIMIT],
        responses={200: EventToldSerializer(many=True), **problems(422)},
    )
    def get(self, request: Request, key: str) -> Response:
        """What you may know of, oldest first; Link names the rest when there is more."""
        person = person_of(request)
        book = book_for(person, key, Act.READ_DAYBOOK)
        asked = WindowSerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        since, limit = asked.validated_data["since"], asked.validated_data["limit"]
        events, last = events_for(person, book, since=since, limit=limit)
        told = EventToldSerializer([asdict(event) for event in events], many=True).data
        more = since + len(events) if events and since + len(events) < last else None
        url = request.build_absolute_uri(f"?since={more}&limit={limit}")
        return Response(told, headers=link_header({"next": url if more else None}))
