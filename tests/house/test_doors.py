"""Every address of the board is tried by nobody, a stranger and each of the roles."""

from collections.abc import Iterator
from http.cookies import SimpleCookie
from typing import Any

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from accounts.models import Person
from board.permits import Role
from tests.house.door import Door
from tests.house.doors import DOORS, SOCKETS
from tests.house.world import World


def patterns(
    resolver: URLResolver, space: str = ""
) -> Iterator[tuple[str, URLPattern]]:
    for one in resolver.url_patterns:
        if isinstance(one, URLResolver):
            inner = f"{space}{one.namespace}:" if one.namespace else space
            yield from patterns(one, inner)
        else:
            yield f"{space}{one.name}", one


def test_every_address_has_a_line_in_the_table_of_doors() -> None:
    there = {name for name, _ in patterns(get_resolver())}
    told = {door.name for door in DOORS}
    assert there == told, (
        f"Addresses without a line: {sorted(there - told)}; lines without an address: "
        f"{sorted(told - there)}. Say in tests/house/doors.py who gets in: one line a "
        "method, with what the allowed are answered."
    )


def test_every_socket_has_a_line_in_the_table_of_doors() -> None:
    from board.asgi import elsewhere, lines  # noqa: PLC0415

    there = [one for one in lines.routes if one is not elsewhere]
    assert {str(one.pattern) for one in there} == SOCKETS


def test_nobody_gets_in_without_signing_in(world: World) -> None:
    _walk(world, None, {door: door.nobody() for door in DOORS})


def test_a_stranger_finds_nothing(world: World) -> None:
    _walk(world, world.cast.stranger, {door: door.stranger for door in DOORS})


@pytest.mark.parametrize("role", Role, ids=lambda role: role.value)
def test_a_role_gets_in_where_the_table_says(world: World, role: Role) -> None:
    who = world.cast.by_role()[role]
    _walk(world, who, {door: door.expected(role) for door in DOORS})


def test_who_was_credited_once_is_a_stranger_now(world: World) -> None:
    world.book.credits.update(ended_at="2026-03-02T09:00:00Z")
    looks = {door: door.stranger for door in DOORS if door.method == "GET"}
    for person in (world.cast.author, world.cast.illustrator):
        _walk(world, person, looks)


def _walk(world: World, who: Person | None, expected: dict[Door, int]) -> None:
    wrong = list(_wrong(world, who, expected))
    assert not wrong, "\n".join(wrong)


def _wrong(
    world: World, who: Person | None, expected: dict[Door, int]
) -> Iterator[str]:
    """Doors that answer something else than expected, in words."""
    cookies = world.client(who).cookies
    for door, status in expected.items():
        with transaction.atomic():
            answer = knock(door, world, cookies)
            transaction.set_rollback(True)
        if answer.status_code != status:
            yield (
                f"{door.method} {door.name}: {answer.status_code} instead of {status}"
            )
        elif (
            who is None
            and status == 302
            and "/people/sign-in/" not in answer["Location"]
        ):
            yield f"{door.method} {door.name} sends nobody to {answer['Location']}"


def knock(door: Door, world: World, cookies: SimpleCookie) -> HttpResponse:
    """Ask at a door with a session that was begun once."""
    client = Client()
    client.cookies.update(cookies)
    address = reverse(door.name, args=door.of(world)) + door.query(world)
    more: dict[str, Any] = {}
    if door.method != "GET":
        more["data"] = door.body(world)
    if door.for_programs and more:
        more["content_type"] = "application/json"
    send = getattr(client, door.method.lower())
    answer: HttpResponse = send(address, **more)
    return answer
