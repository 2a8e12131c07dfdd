"""Readings for programs: those that were held, and holding one."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.books.queries import book_for
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import (
    CURSOR,
    KEY,
    EventSerializer,
    Pages,
    PageSerializer,
    person_of,
    read,
)
from board.readings import actions
from board.readings.models import Reading
from board.readings.queries import shown_now
from board.readings.rules import list_hash


class ShownSerializer(serializers.Serializer[Any]):
    """One item as it was read."""

    item = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # the member's name
    stage = serializers.CharField()
    sha256 = serializers.CharField()
    text_version = serializers.IntegerField()


class ReadingSerializer(serializers.Serializer[Any]):
    """One read-through, on exactly the pictures and words in `shown`."""

    key = serializers.CharField()
    by = serializers.CharField(source="by.initials")
    role = serializers.CharField(allow_blank=True)
    began_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField()
    seconds = serializers.FloatField()
    list_hash = serializers.CharField(help_text="SHA-256 of what was read, in order.")
    text_version = serializers.IntegerField()
    shown = ShownSerializer(many=True)
    remark = serializers.CharField(allow_blank=True)


class ReadingPageSerializer(PageSerializer):
    results = ReadingSerializer(many=True)


class BegunSerializer(serializers.Serializer[Any]):
    """A running clock: hand `word` back when the last page is turned."""

    word = serializers.CharField()
    list_hash = serializers.CharField()


class ReadingDraftSerializer(EventSerializer):
    word = serializers.CharField(max_length=1000)
    remark = serializers.CharField(
        max_length=2000, required=False, allow_blank=True, default=""
    )


def told_reading(reading: Reading) -> dict[str, Any]:
    return dict(ReadingSerializer(reading).data)


@extend_schema(parameters=[KEY])
class Readings(APIView):
    """The readings of a book."""

    @extend_schema(
        operation_id="readings_list",
        parameters=[CURSOR],
        responses={200: ReadingPageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Newest first."""
        book = book_for(person_of(request), key)
        pages = Pages("-ended_at", "-pk")
        rows = pages.rows(book.readings.select_related("by"), request, self)
        return pages.answer([told_reading(row) for row in rows])

    @extend_schema(
        operation_id="reading_hold",
        request=ReadingDraftSerializer,
        responses={201: ReadingSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Stop the clock and record the reading; refused if anything changed."""
        person = person_of(request)
        book = book_for(person, key, Act.READ_THROUGH)
        said = read(ReadingDraftSerializer, request)
        made = actions.hold_reading(by=person, book=book, **said)
        return Response(told_reading(made), status=201)


@extend_schema(parameters=[KEY])
class ReadingBegins(APIView):
    """The clock of a reading."""

    @extend_schema(
        operation_id="reading_begin",
        request=None,
        responses={201: BegunSerializer, **problems(409)},
    )
    def post(self, request: Request, key: str) -> Response:
        """Start the clock on what is current now."""
        person = person_of(request)
        book = book_for(person, key, Act.READ_THROUGH)
        word = actions.begin_reading(by=person, book=book)
        told = {"word": word, "list_hash": list_hash(shown_now(book))}
        return Response(BegunSerializer(told).data, status=201)
