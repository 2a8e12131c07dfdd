"""Reference pictures under notes, for programs."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from board.problems import problems
from board.programs import KEY, person_of
from board.tissue.queries import picture_address, picture_for


class NotePictureSerializer(serializers.Serializer[Any]):
    """A reference picture under a note; its own address gives where it lies."""

    key = serializers.CharField()
    filename = serializers.CharField()
    width = serializers.IntegerField()
    height = serializers.IntegerField()


class PictureAddressSerializer(serializers.Serializer[Any]):
    address = serializers.CharField(help_text="Yours alone; it runs out.")


@extend_schema(parameters=[KEY])
class NotePictures(APIView):
    """A reference picture under a note."""

    @extend_schema(
        operation_id="note_picture_address",
        responses={200: PictureAddressSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Where you see it, for as long as the address is good."""
        person = person_of(request)
        picture = picture_for(person, key)
        address = picture_address(picture, person, picture.note.item.book)
        return Response({"address": request.build_absolute_uri(address)})
