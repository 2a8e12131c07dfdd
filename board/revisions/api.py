"""Uploads and revisions for programs and for the pages' own scripts."""

from hashlib import sha256
from typing import Any

from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from accounts.models import Person
from board.books.models import Item
from board.books.queries import book_for, item_for
from board.books.rules import STAGES
from board.errors import Stale
from board.permits import Act
from board.problems import problems
from board.programs import CURSOR, KEY, Pages, PageSerializer, person_of, read
from board.repro.grants import grant_upload
from board.revisions import queries
from board.revisions.actions.uploads import (
    UploadDraft,
    confirm_match,
    correct_match,
    end_upload,
    start_upload,
)
from board.revisions.models import Revision, Upload
from board.revisions.queries import uploads as incoming
from board.revisions.queries.originals import has_original, original_of
from board.revisions.rules import Declared

STAGE_NAMES = [stage.value for stage in STAGES]
DECLARED = [declared.value for declared in Declared]
IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description="The ETag it was read with."
)


class RectSerializer(serializers.Serializer[Any]):
    x = serializers.FloatField()
    y = serializers.FloatField()
    width = serializers.FloatField()
    height = serializers.FloatField()


class PictureSerializer(serializers.Serializer[Any]):
    """A laid picture; its addresses are good until the second `until`."""

    revision = serializers.CharField()
    width = serializers.IntegerField()
    height = serializers.IntegerField()
    tile = serializers.IntegerField()
    levels = serializers.IntegerField()
    rect = RectSerializer(help_text="What it covers, in fractions of the trim.")
    tiles = serializers.CharField(help_text="Before <level>/<column>_<row>.jpg")
    small = serializers.CharField()
    medium = serializers.CharField()
    until = serializers.IntegerField()


class ProgressSerializer(serializers.Serializer[Any]):
    key = serializers.CharField()
    state = serializers.CharField()
    step = serializers.CharField(allow_blank=True)
    says = serializers.CharField()
    share = serializers.FloatField()
    over = serializers.BooleanField()


class RevisionSerializer(serializers.Serializer[Any]):
    """A revision as the asker may see it."""

    key = serializers.CharField()
    item = serializers.CharField()
    stage = serializers.ChoiceField(STAGE_NAMES)
    number = serializers.IntegerField(
        allow_null=True, help_text="Empty while it lies in the folder."
    )
    filename = serializers.CharField()
    sha256 = serializers.CharField()
    short_code = serializers.CharField()
    size = serializers.IntegerField()
    format = serializers.CharField(allow_blank=True)
    width = serializers.IntegerField()
    height = serializers.IntegerField()
    uploaded_at = serializers.DateTimeField()
    sent_up_at = serializers.DateTimeField(allow_null=True)
    laid = serializers.CharField(allow_blank=True)
    how_laid = serializers.CharField()
    confidence = serializers.FloatField(allow_null=True)
    error_bar_mm = serializers.FloatField(allow_null=True)
    matrix = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField()),
        allow_null=True,
        help_text="3 x 3, upright pixels to fractions of the trim, row by row.",
    )
    picture = PictureSerializer(allow_null=True)
    original = serializers.CharField(
        allow_blank=True, help_text="Only for those who may download originals."
    )
    progress = ProgressSerializer()


class RevisionPageSerializer(PageSerializer):
    results = RevisionSerializer(many=True)


class UploadSerializer(serializers.Serializer[Any]):
    """An upload; its bytes go to `tus` by the tus 1.0 protocol."""

    key = serializers.CharField()
    book = serializers.CharField()
    filename = serializers.CharField()
    length = serializers.IntegerField()
    received = serializers.IntegerField()
    state = serializers.ChoiceField(Upload.State.values)
    refused = serializers.CharField(allow_blank=True)
    item = serializers.CharField(allow_null=True)
    stage = serializers.CharField(allow_blank=True)
    declared = serializers.ChoiceField(DECLARED)
    sure = serializers.BooleanField()
    tus = serializers.CharField()
    revision = serializers.CharField(allow_null=True)
    expires_at = serializers.DateTimeField()


class UploadDraftSerializer(serializers.Serializer[Any]):
    book = serializers.CharField(max_length=16)
    filename = serializers.CharField(max_length=255)
    length = serializers.IntegerField(min_value=1, max_value=2**53)
    item = serializers.CharField(max_length=16, required=False, allow_blank=True)
    stage = serializers.ChoiceField(STAGE_NAMES, required=False)
    declared = serializers.ChoiceField(DECLARED, default=Declared.BLED.value)


class MatchSerializer(serializers.Serializer[Any]):
    item = serializers.CharField(max_length=16)
    stage = serializers.ChoiceField(STAGE_NAMES)
    declared = serializers.ChoiceField(DECLARED, default=Declared.BLED.value)
    confirm = serializers.BooleanField(default=False)


def told_upload(upload: Upload, person: Person) -> dict[str, Any]:
    """An upload as the API tells it."""
    made = Revision.objects.filter(upload=upload).values_list("key", flat=True)
    told = {name: getattr(upload, name) for name in UPLOAD_FIELDS}
    return told | {
        "book": upload.book_key,
        "received": incoming.received(upload),
        "item": upload.item.key if upload.item else None,
        "tus": grant_upload(upload.key, f"{upload.book_key}:{person.key}"),
        "revision": made.first(),
    }


UPLOAD_FIELDS = (
    "key", "filename", "length", "state", "refused", "stage", "declared", "sure",
    "expires_at",
)  # fmt: skip
REVISION_FIELDS = (
    "key", "stage", "number", "filename", "sha256", "short_code", "size", "format",
    "width", "height", "uploaded_at", "sent_up_at", "laid", "confidence",
    "error_bar_mm", "matrix",
)  # fmt: skip


def told_revision(revision: Revision, person: Person) -> dict[str, Any]:
    """A revision as the API tells it to this person."""
    picture = queries.picture_of(revision, person)
    downloads = has_original(revision, person)
    return {name: getattr(revision, name) for name in REVISION_FIELDS} | {
        "item": revision.item.key,
        "how_laid": queries.how_laid(revision),
        "picture": picture.as_dict() if picture else None,
        "original": original_of(revision, person) if downloads else "",
        "progress": vars(queries.progress_of(revision)),
    }


def etag_of(upload: Upload) -> str:
    state = (upload.state, upload.item_id, upload.stage, upload.declared, upload.sure)
    return f'"{sha256(repr(state).encode()).hexdigest()[:16]}"'


class Uploads(APIView):
    """Uploads on their way."""

    @extend_schema(
        operation_id="uploads_list",
        parameters=[OpenApiParameter("book", str, required=True)],
        responses={200: UploadSerializer(many=True), **problems()},
    )
    def get(self, request: Request) -> Response:
        """One's own uploads on a book that are not in the folder yet."""
        person = person_of(request)
        book = book_for(person, request.query_params.get("book", ""), Act.UPLOAD)
        rows = incoming.on_the_way(book, person)
        told = [told_upload(row, person) for row in rows]
        return Response(UploadSerializer(told, many=True).data)

    @extend_schema(
        operation_id="uploads_create",
        request=UploadDraftSerializer,
        responses={201: UploadSerializer, **problems(409, 413, 422, 507)},
    )
    def post(self, request: Request) -> Response:
        """Make room for a file; `Location` is where its bytes go by tus."""
        person = person_of(request)
        said = read(UploadDraftSerializer, request)
        book = book_for(person, said["book"], Act.UPLOAD)
        item: Item | None = None
        if said.get("item"):
            item = item_for(person, said["item"], Act.UPLOAD)
        upload = start_upload(
            by=person,
            book=book,
            draft=UploadDraft(
                said["filename"],
                said["length"],
                item,
                said.get("stage", ""),
                said["declared"],
            ),
        )
        told = UploadSerializer(told_upload(upload, person)).data
        return Response(
            told, status=201, headers={"Location": told["tus"], "ETag": etag_of(upload)}
        )


@extend_schema(parameters=[KEY])
class OneUpload(APIView):
    """One upload."""

    @extend_schema(
        operation_id="upload_read", responses={200: UploadSerializer, **problems()}
    )
    def get(self, request: Request, key: str) -> Response:
        """How far it is; `tus` is a fresh address."""
        person = person_of(request)
        return self._answer(incoming.upload_for(person, key), person)

    @extend_schema(
        operation_id="upload_match",
        parameters=[IF_MATCH],
        request=MatchSerializer,
        responses={200: UploadSerializer, **problems(409, 412, 422)},
    )
    def patch(self, request: Request, key: str) -> Response:
        """Correct which item and stage it is for; confirm to have it taken in."""
        person = person_of(request)
        upload = incoming.upload_for(person, key)
        wanted = request.headers.get("If-Match")
        if wanted not in (None, "*", etag_of(upload)):
            raise Stale
        said = read(MatchSerializer, request)
        upload = correct_match(
            upload,
            item=item_for(person, said["item"], Act.UPLOAD),
            stage=said["stage"],
            declared=said["declared"],
            by=person,
        )
        if said["confirm"]:
            confirm_match(upload, by=person, event=f"match-{upload.key}")
            upload.refresh_from_db()
        return self._answer(upload, person)

    @extend_schema(
        operation_id="upload_end",
        responses={204: OpenApiResponse(description="Left out."), **problems()},
    )
    def delete(self, request: Request, key: str) -> Response:
        """Leave it out: it is dropped, or stops being sent."""
        end_upload(incoming.upload_for(person_of(request), key))
        return Response(status=204)

    def _answer(self, upload: Upload, person: Person) -> Response:
        told = UploadSerializer(told_upload(upload, person)).data
        return Response(told, headers={"ETag": etag_of(upload)})


@extend_schema(parameters=[KEY])
class Revisions(APIView):
    """An item's revisions."""

    @extend_schema(
        operation_id="revisions_list",
        parameters=[CURSOR],
        responses={200: RevisionPageSerializer, **problems()},
    )
    def get(self, request: Request, key: str) -> Response:
        """Sent-up revisions and, to illustrators, those in the folder; newest first."""
        person = person_of(request)
        item = item_for(person, key)
        pages = Pages("-uploaded_at", "-pk")
        rows = pages.rows(queries.seen_by(person, item), request, self)
        told = [told_revision(row, person) for row in rows]
        return pages.answer(list(RevisionSerializer(told, many=True).data))


@extend_schema(parameters=[KEY])
class OneRevision(APIView):
    """One revision."""

    @extend_schema(
        operation_id="revision_read", responses={200: RevisionSerializer, **problems()}
    )
    def get(self, request: Request, key: str) -> Response:
        """How it lies, how surely, and where it is seen."""
        person = person_of(request)
        revision = queries.revision_for(person, key)
        told = RevisionSerializer(told_revision(revision, person)).data
        until = told["picture"]["until"] if told["picture"] else 0
        state = (revision.work, revision.step, revision.number, revision.picture)
        mark = "-".join(str(part or "") for part in (*state, until)).replace(" ", "")
        return Response(told, headers={"ETag": f'"{mark}"'})
