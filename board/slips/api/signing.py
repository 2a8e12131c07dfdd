"""Deputies for programs: who signs p.p. for whom, named and ended."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.models import Person
from board.books.actions.deputies import DeputyDraft, end_deputy, name_deputy
from board.books.models import Book, Deputy
from board.books.queries import book_for
from board.books.queries.deputies import deputies_on
from board.errors import NotFound, NotUnderstood
from board.permits import Act, Role
from board.problems import problems, write_problems
from board.programs import KEY, person_of, read
from board.slips.actions.locked import event_of
from board.slips.api.asking import ROLES, EventSerializer


class DeputySerializer(serializers.Serializer[Any]):
    """Somebody who signs at another's line; both days are included, in UTC."""

    key = serializers.CharField()
    role = serializers.ChoiceField(ROLES)
    principal = serializers.CharField(help_text="Initials of whose line it is.")
    person = serializers.CharField(help_text="Initials of who signs p.p.")
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    ended_at = serializers.DateTimeField(allow_null=True)


class DeputyDraftSerializer(EventSerializer):
    """People are named by their initials on this book."""

    role = serializers.ChoiceField(ROLES)
    principal = serializers.CharField(max_length=8)
    person = serializers.CharField(max_length=8)
    first_day = serializers.DateField()
    last_day = serializers.DateField()


def _told(one: Deputy) -> dict[str, Any]:
    names = ("key", "role", "first_day", "last_day", "ended_at")
    told = {name: getattr(one, name) for name in names}
    told |= {"principal": one.principal.initials, "person": one.person.initials}
    return dict(DeputySerializer(told).data)


def _credited(book: Book, initials: str) -> Person:
    rows = book.credits.filter(ended_at=None, person__initials=initials)
    people = {row.person_id: row.person for row in rows.select_related("person")}
    if len(people) != 1:
        found = "Nobody" if not people else "More than one person"
        raise NotUnderstood(f"{found} on this book has the initials {initials}.")
    return people.popitem()[1]


@extend_schema(parameters=[KEY])
class Deputies(APIView):
    """Who signs p.p. on a book."""

    @extend_schema(
        operation_id="deputies_list",
        responses={200: DeputySerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Every deputy that was not ended, those to come and gone by too."""
        book = book_for(person_of(request), key)
        return Response([_told(one) for one in deputies_on(book)])

    @extend_schema(
        operation_id="deputy_name",
        request=DeputyDraftSerializer,
        responses={201: DeputySerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Name your own deputy, or as publisher one for the house."""
        person = person_of(request)
        book = book_for(person, key, Act.NAME_DEPUTY)
        said = read(DeputyDraftSerializer, request)
        draft = DeputyDraft(
            role=Role(said["role"]),
            principal=_credited(book, said["principal"]),
            person=_credited(book, said["person"]),
            first_day=said["first_day"],
            last_day=said["last_day"],
        )
        event = event_of(person, said["event"])
        made = name_deputy(by=person, book=book, draft=draft, event=event)
        return Response(_told(made), status=201)


@extend_schema(parameters=[KEY])
class DeputyEnds(APIView):
    """The end of a deputy's days."""

    @extend_schema(
        operation_id="deputy_end",
        request=EventSerializer,
        responses={200: DeputySerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """End it now; what was signed p.p. stands."""
        person = person_of(request)
        rows = Deputy.objects.select_related("book", "person", "principal")
        one = rows.filter(key=key).first()
        if one is None:
            raise NotFound
        book_for(person, one.book.key)
        said = read(EventSerializer, request)
        event = event_of(person, said["event"])
        return Response(_told(end_deputy(by=person, deputy=one, event=event)))
