"""How programs come in; alone in its file, since DRF loads it before its views."""

from rest_framework.authentication import SessionAuthentication
from rest_framework.request import Request


class BySession(SessionAuthentication):
    """The board's own sign-in; without it the answer is 401, not 403."""

    def authenticate_header(self, request: Request) -> str:
        """Name the scheme, which makes DRF answer 401 (RFC 9110 section 11.6.1)."""
        return "Session"
