"""Initials: the slip, the receipt of what was shown, an OK, a pull, a refusal."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.books.queries import item_for
from board.books.queries.deputies import signing_roles
from board.errors import NotFound, NotUnderstood
from board.permits import Act, require
from board.problems import problems, write_problems
from board.programs import KEY, person_of, read
from board.revisions.queries import revision_for
from board.slips.actions import initials
from board.slips.api.asking import (
    FACETS,
    INITIAL_KINDS,
    InitialDraftSerializer,
    PullSerializer,
    RefusalDraftSerializer,
)
from board.slips.api.standing import SlipLineSerializer, told_lines
from board.slips.models import Initial
from board.slips.queries.lines import initial_for
from board.slips.queries.receipts import read_receipt, receipt_for
from board.tissue.queries import note_for

REVISION = OpenApiParameter(
    "revision", str, required=True, description="The revision that was shown."
)


class InitialSerializer(serializers.Serializer[Any]):
    """An initial of one's own."""

    key = serializers.CharField()
    facet = serializers.ChoiceField(FACETS)
    kind = serializers.ChoiceField(INITIAL_KINDS)
    checksum = serializers.CharField(help_text="SHA-256 of the picture it is bound to.")
    text_version = serializers.IntegerField()
    at = serializers.DateTimeField()
    signed_for = serializers.CharField(
        allow_blank=True, help_text="Initials of whom a deputy signed p.p. for."
    )
    ended_at = serializers.DateTimeField(allow_null=True)
    ended_because = serializers.CharField(allow_blank=True)


class ReceiptSerializer(serializers.Serializer[Any]):
    """Signed proof of what was shown to you; an initial carries it."""

    receipt = serializers.CharField()
    revision = serializers.CharField()
    checksum = serializers.CharField()
    text_version = serializers.IntegerField()


class RefusalSerializer(serializers.Serializer[Any]):
    facet = serializers.ChoiceField(FACETS)
    note = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)
    at = serializers.DateTimeField()


def told_initial(given: Initial) -> dict[str, Any]:
    """An initial as its giver reads it."""
    names = ("key", "facet", "kind", "text_version", "at", "ended_at", "ended_because")
    told = {name: getattr(given, name) for name in names}
    told |= {"checksum": given.bound_sha256}
    told["signed_for"] = given.principal.initials if given.principal else ""
    return dict(InitialSerializer(told).data)


@extend_schema(parameters=[KEY])
class Initials(APIView):
    """The initials on the item's slip."""

    @extend_schema(
        operation_id="initials_list",
        responses={200: SlipLineSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The lines of the slip, initialled or not."""
        person = person_of(request)
        lines = told_lines(item_for(person, key), person)
        return Response(SlipLineSerializer(lines, many=True).data)

    @extend_schema(
        operation_id="initial_give",
        request=InitialDraftSerializer,
        responses={201: InitialSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Give an OK; with listed lines, an OK as corrected."""
        person = person_of(request)
        item = item_for(person, key)
        require(Act.INITIAL, signing_roles(person, item.book))
        said = read(InitialDraftSerializer, request)
        given = initials.initial(by=person, item=item, **said)
        return Response(told_initial(given), status=201)


@extend_schema(parameters=[KEY])
class Receipt(APIView):
    """Proof of what was shown."""

    @extend_schema(
        operation_id="receipt_read",
        parameters=[REVISION],
        responses={200: ReceiptSerializer, **problems(422)},
    )
    def get(self, request: Request, key: str) -> Response:
        """Ask for it when you have drawn the revision at page width or larger."""
        person = person_of(request)
        item = item_for(person, key)
        revision = revision_for(person, request.query_params.get("revision", ""))
        if not revision.is_up:
            raise NotFound
        if revision.item_id != item.pk:
            raise NotUnderstood("That revision belongs to another item.")
        receipt = receipt_for(person, item, revision)
        shown = read_receipt(receipt, person=person, item=item)
        told = {"receipt": receipt, "revision": revision.key}
        told |= {"checksum": shown.checksum}
        whole = ReceiptSerializer(told | {"text_version": shown.text_version})
        return Response(whole.data)


@extend_schema(parameters=[KEY])
class Pull(APIView):
    """Taking an initial back."""

    @extend_schema(
        operation_id="initial_pull",
        request=PullSerializer,
        responses={200: InitialSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Take your own initial off, with a reason."""
        person = person_of(request)
        given = initial_for(person, key)
        if given is None:
            raise NotFound
        said = read(PullSerializer, request)
        return Response(told_initial(initials.pull(by=person, given=given, **said)))


@extend_schema(parameters=[KEY])
class Refusals(APIView):
    """Saying no at a must line."""

    @extend_schema(
        operation_id="refuse",
        request=RefusalDraftSerializer,
        responses={201: RefusalSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Refuse over an open direction of your own; the note sheet falls due."""
        person = person_of(request)
        item = item_for(person, key, Act.REFUSE)
        said = read(RefusalDraftSerializer, request)
        note = note_for(person, said.pop("note"))
        made = initials.refuse(by=person, item=item, note=note, **said)
        told = {"facet": made.facet, "note": note.key, "reason": made.reason}
        return Response(RefusalSerializer(told | {"at": made.at}).data, status=201)
