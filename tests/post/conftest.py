"""A spread that waits for its people, and a mail server that takes or refuses."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from pytest_django import Settings

from board.post.actions import look_round
from board.post.actions.sending import send_due
from tests.post.sink import Sink, listening
from tests.slips.conftest import Table, table

__all__ = ["Table", "table"]


@pytest.fixture
def sink(settings: Settings) -> Iterator[Sink]:
    """A real SMTP server on this machine that the board sends to."""
    with listening() as server:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST = "127.0.0.1"
        settings.EMAIL_PORT = server.port
        settings.EMAIL_TIMEOUT = 0.3
        settings.BOARD_ADDRESS = "https://board.example.org"
        yield server


NOON = datetime(2026, 3, 2, 3, 0, tzinfo=UTC)  # before anybody's digest


def later(minutes: float, moment: datetime = NOON) -> datetime:
    return moment + timedelta(minutes=minutes)


def carry(moment: datetime) -> int:
    """One round of the worker at a moment."""
    look_round(moment)
    return send_due(moment)
