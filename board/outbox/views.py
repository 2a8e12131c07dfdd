"""The pages and the worker behind what waits to be sent and what is kept to read."""

import re
from functools import cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from board.outbox.queries import rights_of
from board.templatetags.board_tags import import_map_text

BARE = re.compile(r'from "#([a-z_/]+\.js)"')


@login_required
@ensure_csrf_cookie
@require_GET
def waiting(request: HttpRequest) -> HttpResponse:
    """What this device keeps for the board; the list is drawn by the browser."""
    return render(request, "board/outbox/waiting.html")


@never_cache
@ensure_csrf_cookie
@require_GET
def rights(request: HttpRequest) -> JsonResponse:
    """Who is signed in and which books are open to them; nobody has none."""
    if not request.user.is_authenticated:
        return JsonResponse({"person": "", "books": {}})
    person = request.user
    return JsonResponse({"person": person.key, "books": rights_of(person)})


@require_GET
def no_line(request: HttpRequest) -> HttpResponse:
    """What is shown without a line instead of a page that was not kept."""
    return render(request, "board/outbox/no_line.html")


@require_GET
def worker(_request: HttpRequest) -> HttpResponse:
    """The service worker; its text changes whenever a static file does."""
    text = _worker() if settings.DEBUG else _cached_worker()
    headers = {"Cache-Control": "no-cache"}
    return HttpResponse(text, content_type="text/javascript", headers=headers)


def _worker() -> str:
    path = Path(settings.BASE_DIR) / "static" / "js" / "outbox" / "worker.js"
    text = path.read_text("utf-8")
    # No import map reaches a worker, so bare names become addresses here.
    text = BARE.sub(
        lambda name: f'from "{staticfiles_storage.url("js/" + name[1])}"', text
    )
    version = sha256((text + import_map_text()).encode()).hexdigest()[:16]
    return f"// {version}\n{text}"


@cache
def _cached_worker() -> str:
    return _worker()
