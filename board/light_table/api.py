"""Comparisons for programs and for the light table's own scripts."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.light_table.actions import compare
from board.light_table.queries import comparison_for
from board.problems import problems
from board.programs import KEY, person_of, read
from board.revisions.queries import revision_for

KEY_SENT = "^[A-Za-z0-9_-]{1,16}$"


class CoversSerializer(serializers.Serializer[Any]):
    """A rectangle on the sheet, in fractions of the trim."""

    x = serializers.FloatField()
    y = serializers.FloatField()
    width = serializers.FloatField()
    height = serializers.FloatField()


class ChangeSerializer(CoversSerializer):
    """One changed place on the sheet; `mean` and `peak` are dE00."""

    area = serializers.FloatField()
    mean = serializers.FloatField()
    peak = serializers.FloatField()


class ComparisonSerializer(serializers.Serializer[Any]):
    """A comparison; its drawing is good until the second `until`."""

    key = serializers.CharField()
    before = serializers.CharField()
    after = serializers.CharField()
    state = serializers.CharField()
    step = serializers.CharField(allow_blank=True)
    says = serializers.CharField()
    share = serializers.FloatField()
    over = serializers.BooleanField()
    colour = serializers.BooleanField(
        help_text="False between drawn and painted: only the plan is to be looked at."
    )
    changes = ChangeSerializer(many=True)
    noise = serializers.FloatField(allow_null=True)
    rect = CoversSerializer(help_text="What the drawing covers.")
    picture = serializers.CharField(allow_blank=True)
    until = serializers.IntegerField()


class PairSerializer(serializers.Serializer[Any]):
    before = serializers.RegexField(KEY_SENT)
    after = serializers.RegexField(KEY_SENT)


class Comparisons(APIView):
    """Pairs of revisions."""

    @extend_schema(
        operation_id="comparisons_create",
        request=PairSerializer,
        responses={202: ComparisonSerializer, **problems(409, 422)},
    )
    def post(self, request: Request) -> Response:
        """Have two revisions of an item compared; asking again answers the same."""
        person = person_of(request)
        said = read(PairSerializer, request)
        before = revision_for(person, said["before"])
        after = revision_for(person, said["after"])
        row = compare(before, after, by=person)
        told = comparison_for(person, row.key).as_dict()
        return Response(ComparisonSerializer(told).data, status=202)


@extend_schema(parameters=[KEY])
class OneComparison(APIView):
    """One comparison."""

    @extend_schema(
        operation_id="comparison_read",
        responses={200: ComparisonSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """How far it is and what changed, largest first."""
        compared = comparison_for(person_of(request), key)
        told = ComparisonSerializer(compared.as_dict()).data
        mark = f'"{compared.state}-{compared.step}-{compared.until}"'
        return Response(told, headers={"ETag": mark})
