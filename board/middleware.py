"""Headers on every page, and errors told as sentences."""

import secrets
from collections.abc import Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone

from board.errors import BoardError

Answer = Callable[[HttpRequest], HttpResponse]


def house(request: HttpRequest) -> dict[str, object]:
    """What every template may show: the house's name, the demo band, the nonce."""
    return {
        "house_name": settings.BOARD_HOUSE,
        "is_demo": settings.BOARD_DEMO,
        "csp_nonce": getattr(request, "csp_nonce", ""),
    }


class PolicyMiddleware:
    """A strict content policy; the import map carries a nonce."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        nonce = secrets.token_urlsafe(16)
        request.csp_nonce = nonce  # type: ignore[attr-defined]  # ours, read above
        response = self.get_response(request)
        response.headers.setdefault(
            "Content-Security-Policy",
            "default-src 'none'; "
            f"script-src 'self' 'nonce-{nonce}'; style-src 'self'; font-src 'self'; "
            "img-src 'self' blob: data:; connect-src 'self' ws: wss:; "
            "manifest-src 'self'; worker-src 'self'; form-action 'self'; "
            "base-uri 'none'; frame-ancestors 'none'",
        )
        response.headers.setdefault("Permissions-Policy", "camera=(), microphone=()")
        if getattr(request, "user", None) and request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response


class OneFormKey:
    """Keep what a page or its worker fetches for nobody from changing the form key.

    A form carries the key of the cookie its own page brought (CSRF). An answer fetched
    aside meanwhile, by somebody without that cookie, would bring another one, and the
    form just opened would be refused. Fetch Metadata (W3C) tells the two apart.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        aside = request.headers.get("Sec-Fetch-Mode", "navigate") != "navigate"
        if aside and not request.user.is_authenticated:
            response.cookies.pop(settings.CSRF_COOKIE_NAME, None)
        return response


class AsSignedIn:
    """Refuse what a page of one person sends after another signed in beside it."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        meant = request.headers.get("Board-Person", "")
        known = request.user.is_authenticated
        if known and meant and meant != request.user.key:  # type: ignore[union-attr]
            return HttpResponse(
                "Somebody else is signed in on this device now. Nothing was done; sign "
                "in as yourself and it is sent.",
                status=401,
                content_type="text/plain; charset=utf-8",
            )
        return self.get_response(request)


class InOwnTime:
    """Show every time by the clock of the person who looks."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with timezone.override(_clock_of(request)):
            return self.get_response(request)


def _clock_of(request: HttpRequest) -> ZoneInfo | None:
    name = getattr(request.user, "time_zone", "")
    try:
        return ZoneInfo(name) if name else None
    except (ZoneInfoNotFoundError, ValueError):
        return None


class SayWhatWentWrong:
    """Turn our errors into a page that says what happened and how to go on."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(
        self, request: HttpRequest, exception: Exception
    ) -> HttpResponse | None:
        """Answer a BoardError; anything else goes on to Django."""
        if not isinstance(exception, BoardError):
            return None
        if request.headers.get("Accept", "").startswith("application/json"):
            return JsonResponse(
                {"title": exception.says, "reasons": exception.reasons},
                status=exception.status,
            )
        typed = {
            name: value
            for name, value in request.POST.items()
            if name not in {"csrfmiddlewaretoken", "password"}
        }
        return render(
            request,
            "board/stopped.html",
            {"error": exception, "typed": typed},
            status=exception.status,
        )
