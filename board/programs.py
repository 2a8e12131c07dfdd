"""What the doors for programs share: who asks, pages of answers, the schema."""

import json
from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from typing import Any, TypeVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Model, QuerySet
from django.urls import register_converter
from django.utils.http import parse_etags
from drf_spectacular.authentication import SessionScheme
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from drf_spectacular.views import SpectacularJSONAPIView
from rest_framework import serializers
from rest_framework.pagination import CursorPagination
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.views import APIView

from accounts.models import Person
from board.errors import NotFound, Stale
from board.problems import PreconditionNeeded, problems

M = TypeVar("M", bound=Model)

KEY = OpenApiParameter(
    "key",
    str,
    OpenApiParameter.PATH,
    description="The unguessable key.",
    pattern="^[A-Za-z0-9_-]{1,16}$",
)
IF_MATCH = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag that it was read with; without it the answer is 428.",
)
ETAG = OpenApiParameter(
    "ETag", str, OpenApiParameter.HEADER, response=[200], description="For If-Match."
)
CURSOR = OpenApiParameter("cursor", str, description="Taken from `next`; opaque.")


class KeyConverter:
    """A key in an address; anything else is no address of ours."""

    regex = "[A-Za-z0-9_-]{1,16}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


register_converter(KeyConverter, "key")


class BySessionScheme(SessionScheme):  # type: ignore[no-untyped-call]  # theirs
    """Tell the schema that BySession is a session cookie."""

    target_class = "board.by_session.BySession"


def person_of(request: Request) -> Person:
    """Who asks; the permission class let nobody else through."""
    person = request.user
    if not isinstance(person, Person):
        raise NotFound
    return person


def read(serializer: type[serializers.Serializer[Any]], request: Request) -> Any:
    """What was sent, checked; 422 with `fields` where it does not fit."""
    sent = serializer(data=request.data)
    sent.is_valid(raise_exception=True)
    return sent.validated_data


def etag_of(told: Any) -> str:
    """A strong validator of what a reader is told."""
    body = json.dumps(told, sort_keys=True, cls=DjangoJSONEncoder)
    return f'"{sha256(body.encode()).hexdigest()[:20]}"'


def require_match(request: Request, told: Any) -> None:
    """428 without If-Match, 412 when what is there is not what was read."""
    wanted = request.headers.get("If-Match")
    if not wanted:
        raise PreconditionNeeded
    named = parse_etags(wanted)
    if named != ["*"] and etag_of(told) not in named:
        raise Stale


class EventSerializer(serializers.Serializer[Any]):
    """Every write names its event; a resend does nothing and answers the same."""

    event = serializers.RegexField(
        r"^[A-Za-z0-9_.:-]{8,40}$",
        help_text="Made by the client, 8 to 40 characters, new for each act.",
    )


class Pages(CursorPagination):
    """Pages of rows whose neighbours are named in the body and in Link (RFC 8288)."""

    page_size = 40

    def __init__(self, *ordering: str) -> None:
        super().__init__()
        self.ordering = ordering

    def rows(self, rows: QuerySet[M], request: Request, view: APIView) -> list[M]:
        """The rows of the page that was asked for."""
        return list(self.paginate_queryset(rows, request, view) or [])

    def answer(self, told: Sequence[Any]) -> Response:
        """The page, with its neighbours."""
        links = {"next": self.get_next_link(), "prev": self.get_previous_link()}
        body = {"next": links["next"], "previous": links["prev"], "results": told}
        return Response(body, headers=link_header(links))


def link_header(links: dict[str, str | None]) -> dict[str, str]:
    """The Link header that names the neighbours there are."""
    named = [f'<{url}>; rel="{rel}"' for rel, url in links.items() if url]
    return {"Link": ", ".join(named)} if named else {}


class PageSerializer(serializers.Serializer[Any]):
    """A page of answers; the same neighbours stand in the Link header."""

    next = serializers.CharField(allow_null=True)
    previous = serializers.CharField(allow_null=True)


class IndexSerializer(serializers.Serializer[Any]):
    """Where a program begins."""

    name = serializers.CharField(help_text="Whose session this is.")
    initials = serializers.CharField()
    books = serializers.CharField()
    uploads = serializers.CharField()
    schema = serializers.CharField()


class Index(APIView):
    """The front door."""

    @extend_schema(operation_id="index", responses={200: IndexSerializer, **problems()})
    def get(self, request: Request) -> Response:
        """Who you are here and where to go on."""
        person = person_of(request)
        ways = {
            name: reverse(f"api:{name}", request=request)
            for name in ("books", "uploads", "schema")
        }
        told = {"name": person.name, "initials": person.initials, **ways}
        return Response(IndexSerializer(told).data)


@lru_cache(maxsize=1)
def whole_schema() -> dict[str, Any]:
    """The OpenAPI description of every address; the same for everybody."""
    generator: Any = SchemaGenerator  # theirs carries no types
    made: dict[str, Any] = generator().get_schema(request=None, public=True)
    return made


class Schema(SpectacularJSONAPIView):
    """The description itself, made once."""

    @extend_schema(exclude=True)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """OpenAPI 3.1, as JSON."""
        return Response(whole_schema())


@extend_schema(exclude=True, responses=OpenApiTypes.NONE)
class Nowhere(APIView):
    """Any other address below /api/: a problem, never a page."""

    permission_classes = [AllowAny]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse whatever the method is."""
        raise NotFound
