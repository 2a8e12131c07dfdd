"""The one door in: signed pictures and uploads beside Django, pages, and sockets."""

import os
import warnings
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "board.settings")

from django.core.asgi import get_asgi_application

# WhiteNoise hands its files over in one piece; they are small and kept by browsers.
warnings.filterwarnings("ignore", "StreamingHttpResponse must consume synchronous")

pages = get_asgi_application()

from channels.auth import AuthMiddlewareStack  # noqa: E402
from channels.routing import URLRouter  # noqa: E402
from channels.security.websocket import AllowedHostsOriginValidator  # noqa: E402
from django.urls import re_path  # noqa: E402

from board.repro.doors import PREFIXES, doors  # noqa: E402
from board.sittings.urls import sockets as sitting_sockets  # noqa: E402
from board.slips.consumers.line import STRAIGHT  # noqa: E402
from board.viewing.urls import sockets  # noqa: E402


async def nowhere(_scope: dict[str, Any], _receive: Any, send: Any) -> None:
    """Turn a socket away that asks for no line of ours."""
    await send({"type": "websocket.close", "code": 4404})


elsewhere = re_path("", nowhere)  # type: ignore[arg-type]  # an ASGI application
lines = URLRouter([*sockets, *sitting_sockets, elsewhere])
live = AllowedHostsOriginValidator(AuthMiddlewareStack(lines))


async def application(scope: dict[str, Any], receive: Any, send: Any) -> None:
    """Send each connection to its door; `receive` and `send` are ASGI's own."""
    if scope["type"] == "websocket":
        # A line's messages change no session: they go out past the middleware.
        await live(scope | {STRAIGHT: send}, receive, send)
    elif scope["type"] == "http" and scope["path"].startswith(PREFIXES):
        await doors(scope, receive, send)
    elif scope["type"] == "http":
        await pages(scope, receive, send)
