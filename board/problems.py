"""Errors of the API as problem details (RFC 9457)."""

from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404
from rest_framework import serializers
from rest_framework.exceptions import APIException, ParseError, ValidationError
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from board.errors import BoardError, NotFound, NotPermitted, TooLarge

MEDIA_TYPE = "application/problem+json"
PASSED_ON = frozenset({"www-authenticate", "retry-after", "allow"})
ALWAYS = (401, 403, 404, 405, 406)
WITH_BODY = (400, 409, 413, 415, 422)


class PreconditionNeeded(BoardError):
    """A change that does not say which version it changes (RFC 6585)."""

    status = 428
    says = (
        "Say which version you change: send the ETag that you read it with as If-Match."
    )


class ProblemSerializer(serializers.Serializer[Any]):
    """What went wrong and what to do next, as problem details (RFC 9457)."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    reasons = serializers.ListField(
        child=serializers.CharField(), help_text="Every unmet guard, not the first."
    )
    fields_ = serializers.DictField(child=serializers.CharField(), required=False)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Rename the member that cannot be called `fields` in a serializer."""
        found = super().get_fields()
        found["fields"] = found.pop("fields_")
        return found


def problems(*statuses: int) -> dict[tuple[int, str], type[ProblemSerializer]]:
    """Responses to declare on an operation: those of every one, and these."""
    told_of = sorted({*ALWAYS, *statuses})
    return {(status, MEDIA_TYPE): ProblemSerializer for status in told_of}


def write_problems(*statuses: int) -> dict[tuple[int, str], type[ProblemSerializer]]:
    """Responses of an operation that takes a JSON body and may be refused."""
    return problems(*WITH_BODY, *statuses)


def problem(exception: Exception, context: dict[str, Any]) -> Response | None:
    """Answer application/problem+json for our errors and the framework's."""
    known = _ours(exception)
    if known is not None:
        set_rollback()
        return told(known.status, known.says, *known.reasons)
    if isinstance(exception, RecursionError):  # JSON nested deeper than Python goes
        exception = ParseError("What was sent is nested too deeply.")
    if isinstance(exception, ValidationError):
        set_rollback()
        return _not_understood(exception)
    answer = exception_handler(exception, context)
    if answer is None:
        return None
    says = str(exception.detail) if isinstance(exception, APIException) else ""
    found = told(answer.status_code, says or "The board could not do that.")
    for name, value in answer.headers.items():
        if name.lower() in PASSED_ON:
            found[name] = value
    return found


def _ours(exception: Exception) -> BoardError | None:
    if isinstance(exception, Http404):
        return NotFound()
    if isinstance(exception, PermissionDenied):
        return NotPermitted()
    if isinstance(exception, RequestDataTooBig):
        return TooLarge("What was sent is too large for this address.")
    return exception if isinstance(exception, BoardError) else None


def _not_understood(exception: ValidationError) -> Response:
    """Say field by field what does not fit."""
    detail = exception.detail
    fields = dict(_leaves(detail, ""))
    reasons = [f"{name}: {words}" if name else words for name, words in fields.items()]
    says = "Something in what was sent does not fit; `fields` says which part."
    return told(422, says, *reasons, fields=fields)


def _leaves(detail: Any, name: str) -> list[tuple[str, str]]:
    """Nested errors as pairs of a dotted field name and words."""
    if isinstance(detail, dict):
        return [
            leaf
            for key, inner in detail.items()
            for leaf in _leaves(inner, f"{name}.{key}".strip("."))
        ]
    if isinstance(detail, list) and any(isinstance(one, dict | list) for one in detail):
        return [
            leaf
            for place, inner in enumerate(detail)
            for leaf in _leaves(inner, f"{name}.{place}".strip("."))
        ]
    words = detail if isinstance(detail, list) else [detail]
    plain = name.removesuffix("non_field_errors").strip(".")
    return [(plain, " ".join(str(word) for word in words))] if words else []


def told(status: int, says: str, *reasons: str, **more: Any) -> Response:
    """Build the answer; `more` holds members of the problem, whatever they are."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": says,
        "reasons": list(reasons) or [says],
        **more,
    }
    return Response(body, status=status, content_type=MEDIA_TYPE)
