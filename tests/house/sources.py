"""One source, use, offer and thing, kept once made, by nobody's act."""

from board.clippings.actions import Place, offer_use
from board.clippings.models import Clipping, OfferedUse, Use
from board.continuity.models import Thing
from tests import make
from tests.house.world import World


def source(world: World) -> Clipping:
    made, _new = Clipping.objects.get_or_create(
        book=world.book,
        code="C01",
        defaults={
            "what": "A tide table.",
            "clearance_since": make.NOW,
            "entered_by": world.cast.rights,
            "entered_at": make.NOW,
        },
    )
    return made


def use(world: World) -> Use:
    return Use.objects.create(
        clipping=source(world),
        item=world.item,
        mark="box",
        points=[[0.1, 0.1], [0.2, 0.2]],
        how="by hand",
        by=world.cast.rights,
        at=make.NOW,
        event=make.event(),
    )


def offer(world: World) -> OfferedUse:
    outline = [[0.1, 0.1], [0.2, 0.1], [0.2, 0.2]]
    place = Place(None, outline)
    made = offer_use(source(world), world.second, place, likeness=0.9, recipe="test")
    assert made is not None
    return made


def thing(world: World) -> Thing:
    made, _new = Thing.objects.get_or_create(
        book=world.book,
        name="coat",
        defaults={"by": world.cast.editor, "at": make.NOW},
    )
    return made
