"""Text versions for programs: each with the words it changed, item by item."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.books.models import TextVersion
from board.books.queries import book_for
from board.problems import problems
from board.programs import KEY, person_of


class ChangedWordsSerializer(serializers.Serializer[Any]):
    item = serializers.CharField()
    words = serializers.CharField(allow_blank=True)


class TextVersionSerializer(serializers.Serializer[Any]):
    """A numbered state of the words, and what it changed; hints are left out."""

    number = serializers.IntegerField()
    by = serializers.CharField(help_text="Initials.")
    at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)
    code = serializers.CharField(allow_blank=True, help_text="Whose alteration.")
    payer = serializers.CharField(allow_blank=True)
    changed = ChangedWordsSerializer(many=True)


def _told(made: TextVersion) -> dict[str, Any]:
    told = {name: getattr(made, name) for name in ("number", "at", "reason", "code")}
    told |= {"payer": made.payer, "by": made.by.initials}
    told["changed"] = [
        {"item": part.item.key, "words": part.words} for part in made.parts.all()
    ]
    return told


@extend_schema(parameters=[KEY])
class Texts(APIView):
    """The text versions of a book."""

    @extend_schema(
        operation_id="texts_list",
        responses={200: TextVersionSerializer(many=True), **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Oldest first. A new one is made by the book's move `change_text`."""
        book = book_for(person_of(request), key)
        rows = book.texts.select_related("by").prefetch_related("parts__item")
        told = [_told(made) for made in rows.order_by("number")]
        return Response(TextVersionSerializer(told, many=True).data)
