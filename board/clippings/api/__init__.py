"""Sources for programs: their records, uses and what the search offers."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from accounts.models import Person
from board.books.queries import book_for, roles_of
from board.clippings.actions import records
from board.clippings.models import Clipping, OfferedUse, Use
from board.clippings.queries import source_for, told_of_book, use_area, uses_of
from board.clippings.queries.searching import offers_shown
from board.clippings.rules import (
    CAUTION,
    HOW,
    KINDS,
    LONGEST_WORDS,
    MARKS,
    MATTERS,
    Clearance,
)
from board.daybook.queries import happened_already
from board.permits import Act, may
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

CLEARANCES = [one.value for one in Clearance]
RECORD = sorted(records.FIELDS - {"matters"})
YES_NO = ["", "yes", "no"]


class MattersField(serializers.DictField):
    """What lies in a scrap: yes, no, or not looked at yet."""

    def __init__(self, **more: Any) -> None:
        super().__init__(child=serializers.ChoiceField(YES_NO), **more)

    def to_internal_value(self, data: Any) -> dict[str, str]:
        """Only what the record asks about."""
        found: dict[str, str] = super().to_internal_value(data)
        other = sorted(set(found) - set(MATTERS))
        if other:
            raise serializers.ValidationError(
                f"The record asks about {', '.join(MATTERS)}; not {', '.join(other)}."
            )
        return {name: said for name, said in found.items() if said}


LONG = {
    name: {"max_length": LONGEST_WORDS}
    for name in ("part_used", "holder_contact", "credit_wording", "remark")
}


class RecordSerializer(serializers.ModelSerializer[Clipping]):
    """The record of a source; what a grant says is written by rights alone."""

    matters = MattersField(required=False)
    kind = serializers.ChoiceField(KINDS, required=False)
    recognisable = serializers.ChoiceField(YES_NO, required=False)
    event = EventSerializer().fields["event"]

    class Meta:
        model = Clipping
        fields = (*RECORD, "matters", "event")
        extra_kwargs = LONG


class RecordChangeSerializer(RecordSerializer):
    """Only what changes."""

    code = serializers.CharField(max_length=12, required=False)
    what = serializers.CharField(max_length=300, required=False)


class AreaSerializer(serializers.Serializer[Any]):
    item = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # the member's name
    cm2 = serializers.FloatField(help_text="Printed area of its marked places.")
    share = serializers.FloatField(help_text="Of the trimmed sheet.")
    unplaced = serializers.IntegerField(help_text="Uses whose place is not marked.")


class SourceSerializer(serializers.ModelSerializer[Clipping]):
    """A source; its `areas` are the items that fall if it is refused."""

    matters = serializers.DictField(child=serializers.CharField())
    clearance = serializers.ChoiceField(CLEARANCES)
    areas = AreaSerializer(many=True)
    largest_cm2 = serializers.FloatField(help_text="The largest printed piece.")
    caution = serializers.CharField()

    class Meta:
        model = Clipping
        fields = (
            "key", *RECORD, "matters", "clearance", "because", "clearance_since",
            "areas", "largest_cm2", "caution",
        )  # fmt: skip


class SourcePageSerializer(PageSerializer):
    results = SourceSerializer(many=True)


class UseSerializer(serializers.Serializer[Any]):
    """Where a source lies; places in fractions of the trim."""

    key = serializers.CharField()
    clipping = serializers.CharField()
    item = serializers.CharField()
    mark = serializers.ChoiceField(list(MARKS))
    points = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField())
    )
    how = serializers.ChoiceField(list(HOW))
    first_shown = serializers.CharField(allow_null=True)
    gone_from = serializers.CharField(allow_null=True)
    now = serializers.BooleanField(help_text="On the current picture.")
    cm2 = serializers.FloatField()


class OfferSerializer(serializers.Serializer[Any]):
    """A place that the search thinks it found: offered, never assumed."""

    key = serializers.CharField()
    clipping = serializers.CharField()
    revision = serializers.CharField()
    item = serializers.CharField()
    points = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField())
    )
    likeness = serializers.FloatField()
    at = serializers.DateTimeField()


def told_sources(sources: list[Clipping]) -> list[dict[str, Any]]:
    """Sources of one book with where they lie now."""
    if not sources:
        return []
    told = []
    for one in told_of_book(sources[0].book, sources):
        fields = {name: getattr(one.source, name) for name in SHOWN}
        areas = [
            {
                "item": area.item.key,
                "label": area.item.label,
                "cm2": round(area.cm2, 2),
                "share": round(area.share, 5),
                "unplaced": area.unplaced,
            }
            for area in one.areas
        ]
        more = {"areas": areas, "largest_cm2": round(one.largest, 2)}
        # Any: a plain dictionary is told as a source too
        whole: Any = fields | more | {"caution": CAUTION}
        told.append(dict(SourceSerializer(whole).data))
    return told


SHOWN = ("key", *RECORD, "matters", "clearance", "because", "clearance_since")


def told_source(source: Clipping) -> dict[str, Any]:
    return told_sources([source])[0]


def told_use(use: Use, *, now: bool) -> dict[str, Any]:
    """A use as the API tells it."""
    told = {name: getattr(use, name) for name in ("key", "mark", "points", "how")} | {
        "clipping": use.clipping.key,
        "item": use.item.key,
        "first_shown": use.first_shown.key if use.first_shown else None,
        "gone_from": use.gone_from.key if use.gone_from else None,
        "now": now,
        "cm2": round(use_area(use, use.item), 2),
    }
    return dict(UseSerializer(told).data)


def told_offer(offered: OfferedUse) -> dict[str, Any]:
    told = {
        name: getattr(offered, name) for name in ("key", "points", "likeness", "at")
    }
    return told | {
        "clipping": offered.clipping.key,
        "revision": offered.revision.key,
        "item": offered.revision.item.key,
    }


def answer(source: Clipping, status: int = 200) -> Response:
    """One source with its validator."""
    told = told_source(source)
    return Response(told, status=status, headers={"ETag": etag_of(told)})


@extend_schema(parameters=[KEY])
class Clippings(APIView):
    """The sources of a book."""

    @extend_schema(
        operation_id="clippings_list",
        parameters=[CURSOR],
        responses={200: SourcePageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """By their codes, each with its clearance and where it lies now."""
        book = book_for(person_of(request), key, Act.READ_SOURCES)
        pages = Pages("code", "pk")
        rows = pages.rows(book.clippings.select_related("book"), request, self)
        return pages.answer(told_sources(rows))

    @extend_schema(
        operation_id="clipping_enter",
        request=RecordSerializer,
        responses={201: SourceSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Enter a source; its clearance is unknown until rights judges it."""
        person = person_of(request)
        book = book_for(person, key, Act.ENTER_SOURCE)
        said = read(RecordSerializer, request)
        event = said.pop("event")
        if not may(Act.JUDGE_SOURCE, roles_of(person, book)):
            said = {name: said[name] for name in said if name not in records.GRANT}
        made = records.enter_source(by=person, book=book, draft=said, event=event)
        told = answer(made, 201)
        told["Location"] = reverse("api:clipping", args=[made.key], request=request)
        return told


@extend_schema(parameters=[KEY])
class OneClipping(APIView):
    """One source."""

    @extend_schema(
        operation_id="clipping_read",
        parameters=[ETAG],
        responses={200: SourceSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """The record, and the items that fall if it is refused."""
        return answer(source_for(person_of(request), key))

    @extend_schema(
        operation_id="clipping_change",
        parameters=[IF_MATCH, ETAG],
        request=RecordChangeSerializer,
        responses={200: SourceSerializer, **write_problems(412, 428)},
    )
    def patch(self, request: Request, key: str) -> Response:
        """Change the record; clearance is judged elsewhere."""
        person = person_of(request)
        source = source_for(person, key, Act.ENTER_SOURCE)
        said = read(RecordChangeSerializer, request)
        event = said.pop("event")
        if not happened_already(source.book.key, records.event_of(person, event)):
            require_match(request, told_source(source))
            records.change_source(
                by=person,
                source=source,
                draft=said,
                version=source.version,
                event=event,
            )
        return answer(source_for(person, key))


@extend_schema(parameters=[KEY])
class Offers(APIView):
    """What the search offers on a book."""

    @extend_schema(
        operation_id="offers_list",
        responses={200: OfferSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Places that nobody answered yet, on current pictures."""
        person = person_of(request)
        book = book_for(person, key, Act.ENTER_SOURCE)
        told = [told_offer(one.offered) for one in offers_shown(book, person)]
        return Response(OfferSerializer(told, many=True).data)


def told_uses(source: Clipping, person: Person) -> list[dict[str, Any]]:
    """All uses of a source that this person may know of."""
    return [told_use(use, now=now) for use, now in uses_of(source, person)]
