"""The log of contacts about a source, for programs."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.clippings.actions import records
from board.clippings.models import Contact
from board.clippings.queries import source_for
from board.clippings.rules import LONGEST_WORDS
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


class ContactSerializer(serializers.ModelSerializer[Contact]):
    by = serializers.CharField(source="by.initials")

    class Meta:
        model = Contact
        fields = ("on", "whom", "said", "by", "at")


class ContactPageSerializer(PageSerializer):
    results = ContactSerializer(many=True)


class ContactDraftSerializer(EventSerializer):
    on = serializers.DateField()
    whom = serializers.CharField(max_length=300)
    said = serializers.CharField(max_length=LONGEST_WORDS)


@extend_schema(parameters=[KEY])
class Contacts(APIView):
    """The log of contacts about a source; it is only added to."""

    @extend_schema(
        operation_id="contacts_list",
        parameters=[CURSOR],
        responses={200: ContactPageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Letters, calls and answers, oldest first."""
        source = source_for(person_of(request), key)
        pages = Pages("on", "pk")
        rows = pages.rows(source.contacts.select_related("by"), request, self)
        return pages.answer(list(ContactSerializer(rows, many=True).data))

    @extend_schema(
        operation_id="contact_log",
        request=ContactDraftSerializer,
        responses={201: ContactSerializer, **write_problems()},
    )
    def post(self, request: Request, key: str) -> Response:
        """Log a contact."""
        person = person_of(request)
        source = source_for(person, key, Act.ENTER_SOURCE)
        said = read(ContactDraftSerializer, request)
        event = said.pop("event")
        spoken = records.Spoken(**said)
        made = records.log_contact(by=person, source=source, spoken=spoken, event=event)
        return Response(ContactSerializer(made).data, status=201)
