"""Checks of a revision and the printing condition of a book, for programs."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.books.models import Book
from board.books.queries import book_for
from board.checks.actions.press import ConditionDraft, set_condition
from board.checks.queries import checks_for
from board.checks.queries.terms import INK_LIMIT, condition_of
from board.checks.rules import Level, Source
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import (
    ETAG,
    IF_MATCH,
    KEY,
    EventSerializer,
    etag_of,
    person_of,
    read,
    require_match,
)
from board.revisions.queries import revision_for

CAUTION = "Colour and ink are estimates; the printer's proof decides."


class PlaceSerializer(serializers.Serializer[Any]):
    """A place in fractions of the trim."""

    x = serializers.FloatField()
    y = serializers.FloatField()
    width = serializers.FloatField()
    height = serializers.FloatField()


class FindingSerializer(serializers.Serializer[Any]):
    """One check: its figure, the limit and where the limit comes from."""

    check = serializers.CharField()
    level = serializers.ChoiceField([level.value for level in Level])
    says = serializers.CharField()
    figure = serializers.CharField(allow_blank=True)
    limit = serializers.CharField(allow_blank=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]  # the member's name
    estimate = serializers.BooleanField()
    places = PlaceSerializer(many=True)


class ChecksSerializer(serializers.Serializer[Any]):
    """A revision's checks; the addresses of its maps end at the second `until`."""

    revision = serializers.CharField()
    state = serializers.CharField(allow_blank=True)
    says = serializers.CharField(allow_blank=True)
    over = serializers.BooleanField()
    level = serializers.ChoiceField([level.value for level in Level])
    press = serializers.CharField(allow_blank=True)
    findings = FindingSerializer(many=True)
    proof = serializers.CharField(allow_blank=True)
    gamut = serializers.CharField(allow_blank=True)
    ink = serializers.CharField(allow_blank=True)
    until = serializers.IntegerField()
    caution = serializers.CharField()


class ConditionSerializer(serializers.Serializer[Any]):
    """Press, paper and limits; `key` is empty while the house gave none."""

    key = serializers.CharField(allow_blank=True)
    name = serializers.CharField(allow_blank=True)
    profile_name = serializers.CharField(allow_blank=True)
    profile_sha256 = serializers.CharField(allow_blank=True)
    ink_limit = serializers.FloatField()
    ink_source = serializers.CharField()
    bleed_mm = serializers.FloatField(allow_null=True)
    bleed_source = serializers.CharField(allow_blank=True)


class ConditionDraftSerializer(EventSerializer):
    """A new condition; the profile in force stays unless it is dropped."""

    name = serializers.CharField(max_length=120)
    ink_limit = serializers.FloatField(min_value=100, max_value=400)
    ink_source = serializers.CharField(max_length=200)
    bleed_mm = serializers.FloatField(
        min_value=0, max_value=50, required=False, allow_null=True, default=None
    )
    bleed_source = serializers.CharField(
        max_length=200, required=False, allow_blank=True, default=""
    )
    without_profile = serializers.BooleanField(required=False, default=False)


@extend_schema(parameters=[KEY])
class RevisionChecks(APIView):
    """The machine checks of a revision."""

    @extend_schema(
        operation_id="checks_read",
        responses={200: ChecksSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Each check with its places; `over` is false while they are on their way."""
        person = person_of(request)
        revision = revision_for(person, key)
        checked = checks_for(person, revision)
        told = vars(checked) | {
            "revision": revision.key,
            "findings": [found.as_dict() for found in checked.findings],
            "caution": CAUTION,
        }
        body = ChecksSerializer(told).data
        return Response(body, headers={"ETag": etag_of(body)})


def told_condition(book: Book) -> dict[str, Any]:
    """The condition in force, or what is taken without one."""
    condition = condition_of(book)
    if condition is not None:
        return dict(ConditionSerializer(condition).data)
    names = ("key", "name", "profile_name", "profile_sha256", "bleed_source")
    limits = {"ink_limit": INK_LIMIT, "ink_source": Source.PRACTICE.value}
    told = dict.fromkeys(names, "") | limits | {"bleed_mm": None}
    return dict(ConditionSerializer(told).data)


@extend_schema(parameters=[KEY])
class Printing(APIView):
    """The printing condition of a book."""

    @extend_schema(
        operation_id="printing_read",
        parameters=[ETAG],
        responses={200: ConditionSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The one in force."""
        return _answer(book_for(person_of(request), key))

    @extend_schema(
        operation_id="printing_set",
        parameters=[IF_MATCH, ETAG],
        request=ConditionDraftSerializer,
        responses={200: ConditionSerializer, **write_problems(412, 428)},
    )
    def put(self, request: Request, key: str) -> Response:
        """Put another in force; every current picture is checked again."""
        person = person_of(request)
        book = book_for(person, key, Act.SET_PRESS)
        said = read(ConditionDraftSerializer, request)
        event = said.pop("event")
        require_match(request, told_condition(book))
        set_condition(by=person, book=book, draft=ConditionDraft(**said), event=event)
        return _answer(book)


def _answer(book: Book) -> Response:
    told = told_condition(book)
    return Response(told, headers={"ETag": etag_of(told)})
