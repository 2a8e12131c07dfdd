"""Errors of the API as problem details (RFC 9457)."""

from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from board.errors import BoardError


def problem(exception: Exception, context: dict[str, Any]) -> Response | None:
    """Answer application/problem+json for our errors and the framework's."""
    if isinstance(exception, BoardError):
        set_rollback()
        return _told(exception.status, exception.says, reasons=list(exception.reasons))
    answer = exception_handler(exception, context)
    if answer is None:
        return None
    more: dict[str, Any] = {}
    if isinstance(exception, ValidationError):
        more["fields"] = exception.detail
    says = _words(exception)
    told = _told(answer.status_code, says, **more)
    for name, value in answer.headers.items():
        if name.lower() in {"www-authenticate", "retry-after", "allow"}:
            told[name] = value
    return told


def _words(exception: Exception) -> str:
    if isinstance(exception, Http404):
        return "There is nothing here, or it is not open to you."
    if isinstance(exception, PermissionDenied):
        return "Your credit on this book does not cover that."
    if isinstance(exception, ValidationError):
        return "Something in what was sent does not fit; `fields` says which part."
    if isinstance(exception, APIException):
        return str(exception.detail)
    return "The board could not do that."


def _told(status: int, says: str, **more: Any) -> Response:
    """Build the answer; `more` holds members of the problem, whatever they are."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": says,
        **more,
    }
    return Response(body, status=status, content_type="application/problem+json")
