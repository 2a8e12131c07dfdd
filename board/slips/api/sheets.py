"""Note sheets, and the pairs that must be ruled before one goes out."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from board.books.queries import item_for
from board.errors import NotUnderstood
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import KEY, person_of, read
from board.slips.actions.rulings import rule_pair
from board.slips.actions.sheets import issue_sheet
from board.slips.api.asking import STAGE_NAMES, EventSerializer, PairDraftSerializer
from board.tissue.models import NoteSheet, PairRuling
from board.tissue.queries import note_for, pairs_to_rule, sheet_for, sheets_for
from board.tissue.rules import CLASSES


class SheetLineSerializer(serializers.Serializer[Any]):
    """A line, frozen as it was issued."""

    number = serializers.IntegerField()
    note = serializers.CharField()
    sort = serializers.ChoiceField(CLASSES)
    initials = serializers.CharField()
    words = serializers.CharField()
    points = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField())
    )


class NoteSheetSerializer(serializers.Serializer[Any]):
    """A frozen, numbered list of notes; an author reads her own lines."""

    key = serializers.CharField()
    item = serializers.CharField()
    stage = serializers.ChoiceField(STAGE_NAMES)
    number = serializers.IntegerField()
    short = serializers.BooleanField(help_text="Made by itself at OK as corrected.")
    revision = serializers.CharField()
    issued_by = serializers.CharField(allow_blank=True)
    issued_at = serializers.DateTimeField()
    lines = SheetLineSerializer(many=True)


class PairToRuleSerializer(serializers.Serializer[Any]):
    """Two open directions on one place that wait for the art director."""

    one = serializers.CharField()
    other = serializers.CharField()
    share = serializers.FloatField(help_text="Of the smaller region, 0 to 1.")


class RulingSerializer(serializers.Serializer[Any]):
    one = serializers.CharField()
    other = serializers.CharField()
    ruling = serializers.ChoiceField(PairRuling.Ruling.values)


def told_sheet(sheet: NoteSheet) -> dict[str, Any]:
    """A sheet whose lines were fetched for one reader."""
    told = {
        "key": sheet.key,
        "item": sheet.item.key,
        "stage": sheet.stage,
        "number": sheet.number,
        "short": sheet.short,
        "revision": sheet.revision.key,
        "issued_by": sheet.issued_by.initials if sheet.issued_by else "",
        "issued_at": sheet.issued_at,
        "lines": [
            {
                "number": line.number,
                "note": line.note.key,
                "sort": line.sort,
                "initials": line.initials,
                "words": line.words,
                "points": line.points,
            }
            for line in sheet.lines.all()
        ],
    }
    return dict(NoteSheetSerializer(told).data)


@extend_schema(parameters=[KEY])
class NoteSheets(APIView):
    """The note sheets of an item."""

    @extend_schema(
        operation_id="note_sheets_list",
        responses={200: NoteSheetSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Sheets in the order they were issued."""
        person = person_of(request)
        sheets = sheets_for(person, item_for(person, key))
        return Response([told_sheet(sheet) for sheet in sheets])

    @extend_schema(
        operation_id="note_sheet_issue",
        request=EventSerializer,
        responses={201: NoteSheetSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Send the notes to the artist as one sheet."""
        person = person_of(request)
        item = item_for(person, key, Act.ISSUE_SHEET)
        said = read(EventSerializer, request)
        made = issue_sheet(by=person, item=item, event=said["event"])
        where = reverse("api:note-sheet", args=[made.key], request=request)
        told = told_sheet(sheet_for(person, made.key))
        return Response(told, status=201, headers={"Location": where})


@extend_schema(parameters=[KEY])
class OneNoteSheet(APIView):
    """One note sheet."""

    @extend_schema(
        operation_id="note_sheet_read",
        responses={200: NoteSheetSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The sheet with the lines that you may read."""
        return Response(told_sheet(sheet_for(person_of(request), key)))


@extend_schema(parameters=[KEY])
class Pairs(APIView):
    """Directions that lie on the same place."""

    @extend_schema(
        operation_id="pairs_list",
        responses={200: PairToRuleSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Pairs that wait for a ruling."""
        item = item_for(person_of(request), key, Act.RULE_PAIR)
        told = [
            {"one": one.key, "other": other.key, "share": share}
            for one, other, share in pairs_to_rule(item)
        ]
        return Response(PairToRuleSerializer(told, many=True).data)

    @extend_schema(
        operation_id="pair_rule",
        request=PairDraftSerializer,
        responses={201: RulingSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Rule a pair: a clash, the same thing, or unrelated."""
        person = person_of(request)
        item = item_for(person, key, Act.RULE_PAIR)
        said = read(PairDraftSerializer, request)
        one, other = note_for(person, said["one"]), note_for(person, said["other"])
        if {one.item_id, other.item_id} != {item.pk}:
            raise NotUnderstood("Both notes of a pair belong to this item.")
        rule_pair(
            by=person, one=one, other=other, ruling=said["ruling"], event=said["event"]
        )
        return Response(RulingSerializer(said).data, status=201)
