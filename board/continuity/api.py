"""The continuity sheet for programs."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from accounts.models import Person
from board.books.queries import book_for, item_for
from board.continuity import actions
from board.continuity.models import Thing
from board.continuity.queries import Row, rows_of, strip_of, thing_for
from board.daybook.queries import happened_already
from board.errors import NotUnderstood
from board.permits import Act
from board.problems import problems, write_problems
from board.programs import (
    CURSOR,
    ETAG,
    IF_MATCH,
    KEY,
    EventSerializer,
    Pages,
    PageSerializer,
    etag_of,
    person_of,
    read,
    require_match,
)

KEEP = Act.KEEP_CONTINUITY
KEY_SENT = "^[A-Za-z0-9_-]{1,16}$"
CAUTION = "Estimates from uploaded pictures: a difference smaller than the noise says nothing."


class CellSerializer(serializers.Serializer[Any]):
    """A thing on one item."""

    item = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # the member's name
    value = serializers.CharField(allow_blank=True)
    explained = serializers.CharField(allow_blank=True)
    odd = serializers.BooleanField(help_text="Differs from the usual.")


class ThingSerializer(serializers.Serializer[Any]):
    """Something that is followed through the book."""

    key = serializers.CharField()
    name = serializers.CharField()
    steady = serializers.BooleanField(help_text="False: it changes by plan.")
    usual = serializers.CharField(allow_blank=True)
    cells = CellSerializer(many=True)


class ThingPageSerializer(PageSerializer):
    results = ThingSerializer(many=True)


class ThingDraftSerializer(EventSerializer):
    name = serializers.CharField(max_length=120)
    steady = serializers.BooleanField(required=False, default=True)


class ValueSerializer(serializers.Serializer[Any]):
    item = serializers.RegexField(KEY_SENT)
    value = serializers.CharField(max_length=120, allow_blank=True)
    explained = serializers.CharField(
        max_length=300, allow_blank=True, required=False, default=""
    )


class ValuesSerializer(EventSerializer):
    values = serializers.ListField(child=ValueSerializer(), max_length=200)


class BoxPlaceSerializer(EventSerializer):
    """Two corners of a box, or three and more of a loop, in fractions of the trim."""

    item = serializers.RegexField(KEY_SENT)
    points = serializers.ListField(
        child=serializers.ListField(
            child=serializers.FloatField(min_value=-10, max_value=10),
            min_length=2,
            max_length=2,
        ),
        min_length=2,
        max_length=400,
    )


class ColourSerializer(serializers.Serializer[Any]):
    """A marked place as it is painted on the current picture, measured."""

    item = serializers.CharField()
    lab = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    noise = serializers.FloatField(allow_null=True)
    from_median = serializers.FloatField(allow_null=True, help_text="dE00")


class StripSerializer(serializers.Serializer[Any]):
    colours = ColourSerializer(many=True)
    caution = serializers.CharField()


def told_row(row: Row) -> dict[str, Any]:
    """A thing with its values, as the API tells it."""
    cells = [
        {
            "item": cell.item.key,
            "label": cell.item.label,
            "value": cell.value,
            "explained": cell.explained,
            "odd": cell.odd,
        }
        for cell in row.cells
    ]
    thing = row.thing
    told = {"key": thing.key, "name": thing.name, "steady": thing.steady}
    return dict(ThingSerializer(told | {"usual": row.usual, "cells": cells}).data)


def _told(thing: Thing) -> dict[str, Any]:
    return told_row(rows_of(thing.book, [thing])[0])


def _answer(thing: Thing, status: int = 200) -> Response:
    told = _told(thing)
    return Response(told, status=status, headers={"ETag": etag_of(told)})


@extend_schema(parameters=[KEY])
class Things(APIView):
    """What is followed through a book."""

    @extend_schema(
        operation_id="things_list",
        parameters=[CURSOR],
        responses={200: ThingPageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The continuity sheet, a thing a row."""
        book = book_for(person_of(request), key)
        pages = Pages("pk")
        rows = rows_of(book, pages.rows(book.things.all(), request, self))
        return pages.answer([told_row(row) for row in rows])

    @extend_schema(
        operation_id="thing_enter",
        request=ThingDraftSerializer,
        responses={201: ThingSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Begin to follow a thing."""
        person = person_of(request)
        book = book_for(person, key, KEEP)
        said = read(ThingDraftSerializer, request)
        made = actions.enter_thing(by=person, book=book, **said)
        told = _answer(made, 201)
        told["Location"] = reverse("api:thing", args=[made.key], request=request)
        return told


@extend_schema(parameters=[KEY])
class OneThing(APIView):
    """One thing."""

    @extend_schema(
        operation_id="thing_read",
        parameters=[ETAG],
        responses={200: ThingSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Its value on every item, and the odd ones out."""
        return _answer(thing_for(person_of(request), key))

    @extend_schema(
        operation_id="thing_values",
        parameters=[IF_MATCH, ETAG],
        request=ValuesSerializer,
        responses={200: ThingSerializer, **write_problems(412, 428)},
    )
    def patch(self, request: Request, key: str) -> Response:
        """Enter values; items that are left out stay as they are."""
        person = person_of(request)
        thing = thing_for(person, key, KEEP)
        said = read(ValuesSerializer, request)
        if not happened_already(thing.book.key, f"{person.key}:{said['event']}"):
            require_match(request, _told(thing))
        values = {
            one["item"]: (one["value"], one["explained"]) for one in said["values"]
        }
        actions.enter_values(by=person, thing=thing, values=values, event=said["event"])
        return _answer(thing_for(person, key))


@extend_schema(parameters=[KEY])
class ThingPlaces(APIView):
    """Where a thing is seen, and its colour there."""

    @extend_schema(
        operation_id="thing_colours",
        responses={200: StripSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Mean CIELAB of each marked place and its dE00 to the median."""
        person = person_of(request)
        colours = _colours(thing_for(person, key), person)
        return Response(StripSerializer({"colours": colours, "caution": CAUTION}).data)

    @extend_schema(
        operation_id="thing_mark",
        request=BoxPlaceSerializer,
        responses={201: StripSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Mark a box on an item; it takes the place of the one before."""
        person = person_of(request)
        thing = thing_for(person, key, KEEP)
        said = read(BoxPlaceSerializer, request)
        item = item_for(person, said["item"], KEEP)
        if item.book_id != thing.book_id:
            raise NotUnderstood("That item belongs to another book.")
        more = {"points": said["points"], "event": said["event"]}
        actions.mark_place(by=person, thing=thing, item=item, **more)
        told = {"colours": _colours(thing, person), "caution": CAUTION}
        return Response(StripSerializer(told).data, status=201)


def _colours(thing: Thing, person: Person) -> list[dict[str, Any]]:
    return [
        {
            "item": crop.item.key,
            "lab": list(crop.colour.lab) if crop.colour else None,
            "noise": crop.colour.noise if crop.colour else None,
            "from_median": crop.apart,
        }
        for crop in strip_of(thing, person)
    ]
