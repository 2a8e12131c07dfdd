"""Doors of sittings: one is planned, one open, one closed, kept once made."""

from datetime import timedelta
from typing import Any

from board.permits import MAY, Act, Role
from board.sittings.models import Decision, Sitting, SittingItem
from board.sittings.rules import Look
from tests import make
from tests.house.door import Body, Door, event
from tests.house.world import World

HOUR = timedelta(hours=1)


def a_planned(world: World) -> Sitting:
    return _made(world, 1)


def an_open(world: World) -> Sitting:
    return _made(world, 2, opened_at=make.NOW, now_item=world.item)


def a_closed(world: World) -> Sitting:
    # Open while every note of the world was pinned, so that the minutes could tell.
    far = make.NOW.replace(year=2100)
    made = _made(world, 3, opened_at=make.NOW - HOUR, closed_at=far)
    Decision.objects.get_or_create(
        sitting=made,
        item=world.item,
        word="return",
        ruled_by=world.cast.art_director,
        written_by=world.cast.art_director,
        event="house-decision",
        defaults={"at": make.NOW, "key": "decision00000000"},
    )
    return made


def _made(world: World, number: int, **more: Any) -> Sitting:
    made, new = Sitting.objects.get_or_create(
        book=world.book,
        number=number,
        defaults={
            "key": f"sitting{number:09d}",
            "planned_by": world.cast.editor,
            "chair": world.cast.art_director,
            "starts_at": make.NOW,
            "planned_at": make.NOW,
            "time_zone": "Europe/Lisbon",
            "look": Look().as_dict(),
            "event": f"house-{number}",
            **more,
        },
    )
    if new:
        SittingItem.objects.create(
            sitting=made, item=world.item, revision=world.second, text_version=1
        )
    return made


def planned(world: World) -> list[str]:
    return [a_planned(world).key]


def opened(world: World) -> list[str]:
    return [an_open(world).key]


def closed(world: World) -> list[str]:
    return [a_closed(world).key]


def on_list(world: World) -> Body:
    return {"event": make.event(), "item": world.item.key}


def ruled(world: World) -> Body:
    return {**on_list(world), "word": "return", "remark": "Not yet."}


def to_designer(world: World) -> Body:
    return {"event": make.event(), "to": world.cast.designer.key}


PLAN, CHAIR = MAY[Act.PLAN_SITTING], frozenset({Role.ART_DIRECTOR})
TOGETHER = [
    Door("sittings:list", of=lambda w: [w.book.key]),
    Door("sittings:plan", of=lambda w: [w.book.key], may=PLAN),
    Door("sittings:plan", "POST", lambda w: [w.book.key], 422, PLAN, body=event()),
    Door("sittings:sitting", of=planned),
    Door("sittings:sitting", of=opened),
    Door("sittings:sitting", of=closed),
    Door("sittings:change", of=planned, may=PLAN),
    Door("sittings:change", "POST", planned, 422, PLAN, body=event()),
    Door("sittings:calendar", of=planned),
    Door("sittings:call-off", "POST", planned, 302, PLAN, body=event()),
    Door("sittings:open", "POST", planned, 302, PLAN, body=event()),
    Door("sittings:close", "POST", opened, 302, PLAN, body=event()),
    Door("sittings:turn", "POST", opened, 302, CHAIR, body=on_list),
    Door("sittings:look", "POST", opened, 302, CHAIR, body=event(view="lift")),
    Door("sittings:chair", "POST", opened, 302, PLAN, body=to_designer),
    Door("sittings:decide", "POST", opened, 302, MAY[Act.DECIDE], body=ruled),
    Door("sittings:reading", of=opened),
    Door("sittings:reading", "POST", opened, 302, CHAIR, body=event(act="begin")),
    Door("sittings:poll", "POST", opened, 200, MAY[Act.SIT_IN]),
    Door("sittings:parts", of=opened),
    Door("sittings:pictures", of=opened, query=lambda w: f"?item={w.item.key}"),
    Door("sittings:minutes-pdf", of=closed),
    Door("sittings:minutes-markdown", of=closed),
]
