"""The API keeps its own promise: OpenAPI 3.1 (openapi-spec-validator, schemathesis)."""

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from django.core.handlers.wsgi import WSGIHandler
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from openapi_spec_validator import OpenAPIV31SpecValidator
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from accounts.models import Person
from board.books.models import Deputy
from tests.house import signing, sources
from tests.house.world import World

EXAMPLES = 10
MOSTLY = (True, True, True, False)
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
FUZZED = settings(
    max_examples=EXAMPLES,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture
def schema(world: World) -> dict[str, Any]:
    answer = world.client(world.cast.editor).get("/api/schema/")
    assert answer.status_code == 200
    found: dict[str, Any] = json.loads(answer.content)
    return found


def test_the_schema_is_valid_openapi_3_1(schema: dict[str, Any]) -> None:
    assert schema["openapi"].startswith("3.1.")
    assert list(OpenAPIV31SpecValidator(schema).iter_errors()) == []


def test_the_schema_is_made_without_a_warning(tmp_path: Path) -> None:
    told = tmp_path / "schema.json"
    call_command("spectacular", "--fail-on-warn", "--validate", "--file", str(told))
    assert told.exists()


def test_every_address_of_the_api_is_in_the_schema(schema: dict[str, Any]) -> None:
    from board.urls import for_programs  # noqa: PLC0415

    there = {f"/api/{one.pattern}" for one in for_programs if one.name != "nowhere"}
    told = {path.replace("{key}", "<key:key>") for path in schema["paths"]}
    assert told == there - {"/api/schema/"}


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Keep the test's connection open between requests, as Django's client does."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def test_what_anybody_sends_is_answered_as_the_schema_says(
    world: World,
    schema: dict[str, Any],
    one_connection: None,
) -> None:
    loaded = schemathesis.openapi.from_dict(schema)
    loaded.app = WSGIHandler()
    cast = world.cast
    people = [cast.editor, cast.art_director, cast.illustrator, cast.author]
    people.append(cast.rights)
    sessions = [_signed_in(world, who) for who in people]
    answered: Counter[int] = Counter()
    operations = [
        found.ok() for found in loaded.get_all_operations() if isinstance(found, Ok)
    ]
    for operation in operations:
        _fuzz(operation, world, sessions, answered)
    assert len(operations) == sum(len(methods) for methods in schema["paths"].values())
    assert {200, 201, 403, 404, 409, 422} <= set(answered)


def _fuzz(
    operation: Any, world: World, sessions: list[dict[str, str]], answered: Counter[int]
) -> None:
    @seed(1)
    @FUZZED
    @given(
        case=operation.as_strategy(),
        who=st.sampled_from(sessions),
        real=st.sampled_from(MOSTLY),
    )
    def holds(case: Any, who: dict[str, str], real: bool) -> None:  # noqa: FBT001
        if real:
            _put_real_keys(case, world)
        case.cookies.clear()
        with transaction.atomic():
            answer = case.call_and_validate(
                cookies=who,
                headers={
                    "X-CSRFToken": who["csrftoken"],
                    "Accept-Encoding": "identity",  # the checks read it unpacked
                },
                checks=CHECKS,
            )
            transaction.set_rollback(True)
        answered[answer.status_code] += 1

    holds()


def _signed_in(world: World, who: Person) -> dict[str, str]:
    client = world.client(who)
    return {"sessionid": client.cookies["sessionid"].value, "csrftoken": "a" * 32}


def _deputy(world: World) -> Deputy:
    return Deputy.objects.filter(book=world.book).first() or signing.deputy(world)


def _put_real_keys(case: Any, world: World) -> None:
    """Put keys that exist into the address and the body, and match any version."""
    keys = {
        "books": world.book.key,
        "items": world.item.key,
        "notes": world.notes["unissued"].key,
        "note-sheets": world.sheet.key,
        "note-pictures": world.picture.key,
        "initials": world.given.key,
        "revisions": world.second.key,
        "uploads": world.upload.key,
        "comparisons": world.comparison.key,
        "clippings": sources.source(world).key,
        "deputies": _deputy(world).key,
        "uses": sources.use(world).key,
        "offers": sources.offer(world).key,
        "things": sources.thing(world).key,
    }
    room = case.path.split("/")[2]
    if case.path_parameters:
        case.path_parameters["key"] = keys[room]
    if case.headers and "If-Match" in case.headers:
        case.headers["If-Match"] = "*"
    named = {
        "revision": world.second.key,
        "before": world.first.key,
        "after": world.second.key,
        "item": world.item.key,
        "book": world.book.key,
        "note": world.notes["unissued"].key,
        "one": world.notes["unissued"].key,
        "other": world.notes["issued"].key,
        "into": world.notes["issued"].key,
        "hold": world.held.key,
        "reopening": world.reopening.key,
    }
    for place in (case.body, case.query):
        if isinstance(place, dict):
            place.update({name: key for name, key in named.items() if name in place})
