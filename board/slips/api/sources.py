"""Judging sources and saying where they lie: whatever takes a clearance initial off."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.models import Person
from board.books.queries import item_for
from board.clippings.actions import UseDraft
from board.clippings.api import (
    CLEARANCES,
    SourceSerializer,
    UseSerializer,
    answer,
    told_use,
    told_uses,
)
from board.clippings.models import Clipping, Use
from board.clippings.queries import (
    currents_of,
    lies_on,
    offer_for,
    source_for,
    use_for,
)
from board.clippings.rules import LONGEST_WORDS, MARKS, MOST_POINTS
from board.errors import NotUnderstood
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import KEY, EventSerializer, person_of, read
from board.revisions.models import Revision
from board.revisions.queries import revision_for
from board.slips.actions import clearances
from board.slips.api.asking import KeySentField, PointField


class ClearanceSerializer(EventSerializer):
    clearance = serializers.ChoiceField(CLEARANCES)
    because = serializers.CharField(
        max_length=LONGEST_WORDS, required=False, allow_blank=True, default=""
    )


class UseDraftSerializer(EventSerializer):
    """Without a mark the source counts and its place is not known yet."""

    item = KeySentField()
    mark = serializers.ChoiceField(list(MARKS), required=False, default="")
    points = serializers.ListField(
        child=PointField(), max_length=MOST_POINTS, required=False, default=list
    )
    first_shown = KeySentField(
        required=False, help_text="The picture from which on it is seen."
    )


class UseEndSerializer(EventSerializer):
    """Without a picture it never was there."""

    gone_from = KeySentField(required=False)


class OfferAnswerSerializer(EventSerializer):
    accepted = serializers.BooleanField()


def _revision(person: Person, source: Clipping, key: str | None) -> Revision | None:
    if not key:
        return None
    found = revision_for(person, key)
    if found.item.book_id != source.book_id:
        raise NotUnderstood("That picture belongs to another book.")
    return found


def _told(use: Use) -> dict[str, Any]:
    up = currents_of([use.item]).get(use.item_id)
    return told_use(use, now=not use.taken_off_at and lies_on(use, up))


@extend_schema(parameters=[KEY])
class ClippingClearance(APIView):
    """How far a source is cleared."""

    @extend_schema(
        operation_id="clipping_judge",
        request=ClearanceSerializer,
        responses={200: SourceSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Judge it: rights alone; clearance initials lapse where it lies."""
        person = person_of(request)
        source = source_for(person, key, Act.JUDGE_SOURCE)
        said = read(ClearanceSerializer, request)
        clearances.change_clearance(by=person, clipping=source, **said)
        return answer(source_for(person, key))


@extend_schema(parameters=[KEY])
class ClippingUses(APIView):
    """Where a source lies."""

    @extend_schema(
        operation_id="uses_list",
        responses={200: UseSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Every use that still stands, in page order."""
        person = person_of(request)
        return Response(told_uses(source_for(person, key), person))

    @extend_schema(
        operation_id="use_mark",
        request=UseDraftSerializer,
        responses={201: UseSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Say that it lies on an item, and where."""
        person = person_of(request)
        source = source_for(person, key, Act.ENTER_SOURCE)
        said = read(UseDraftSerializer, request)
        item = item_for(person, said["item"], Act.ENTER_SOURCE)
        first = _revision(person, source, said.get("first_shown"))
        draft = UseDraft(said["mark"], said["points"], first)
        made = clearances.mark_use(
            by=person, clipping=source, item=item, draft=draft, event=said["event"]
        )
        return Response(_told(made), status=201)


@extend_schema(parameters=[KEY])
class UseEnds(APIView):
    """Where a source is gone."""

    @extend_schema(
        operation_id="use_take_off",
        request=UseEndSerializer,
        responses={200: UseSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Say from which picture on it is gone, or that it never was there."""
        person = person_of(request)
        use = use_for(person, key)
        said = read(UseEndSerializer, request)
        gone = _revision(person, use.clipping, said.get("gone_from"))
        ended = clearances.take_off_use(
            by=person, use=use, gone_from=gone, event=said["event"]
        )
        return Response(_told(ended))


@extend_schema(parameters=[KEY])
class OfferAnswers(APIView):
    """The answer to a place that the search offered."""

    @extend_schema(
        operation_id="offer_answer",
        request=OfferAnswerSerializer,
        responses={200: UseSerializer(many=True), **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Accept it, which makes it a use, or decline it; gives the source's uses."""
        person = person_of(request)
        offered = offer_for(person, key)
        said = read(OfferAnswerSerializer, request)
        clearances.answer_offered(by=person, offered=offered, **said)
        return Response(told_uses(offered.clipping, person))
