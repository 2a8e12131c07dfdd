"""Who sits there, found out and told once for all pages of a process."""

import asyncio
from collections import defaultdict
from typing import Protocol

from channels.db import database_sync_to_async
from django.db import Error as DatabaseError

from accounts.models import Person
from board.sittings.actions.seats import sit_on
from board.sittings.actions.telling import written
from board.sittings.models import Sitting
from board.sittings.queries.state import seats_told
from board.slips.consumers.hub import Hub, logger
from board.slips.consumers.line import ENDED

BEAT_S = 20.0
GATHER_S = 0.25  # seats that change together are told together,
GATHER_A_LINE_S = 0.01  # gathered the longer the more pages there are to tell
AT_ONCE = 20  # beats, before a pencil tip may pass


class Page(Protocol):
    """A line of a sitting, as far as its seat goes."""

    person: Person
    sitting: Sitting

    def say(self, text: str) -> None: ...

    def end(self, code: int) -> None: ...

    def beat(self) -> None: ...


Pages = dict[Sitting, list[Page]]


def pages_of(hub: Hub) -> Pages:
    """The open pages of this process, by sitting."""
    found: Pages = defaultdict(list)
    for lines in hub.lines.values():
        for line in lines:
            sitting = getattr(line, "sitting", None)
            if sitting is not None:
                found[sitting].append(line)  # type: ignore[arg-type]  # it has a seat
    return found


async def beats(hub: Hub) -> None:
    """Tell each page now and then that its line is there, and keep its seat.

    Who may not sit in any more, and was not told so by the record, is shut out here.
    """
    while True:
        await asyncio.sleep(BEAT_S)
        for sitting, pages in pages_of(hub).items():
            people = {page.person.pk for page in pages}
            try:
                here = await database_sync_to_async(sit_on)(
                    sitting=sitting, people=people
                )
            except DatabaseError as problem:  # the next beat asks again
                logger.warning("The seats could not be kept: %s", problem)
                continue
            for place, page in enumerate(pages, start=1):
                if page.person.pk in here:
                    page.beat()
                else:
                    page.end(ENDED)
                if place % AT_ONCE == 0:
                    await asyncio.sleep(0)


def tell_seats_soon(hub: Hub, sitting: Sitting) -> None:
    """Tell every page of this process who sits here, once for many changes."""
    if sitting.key not in hub.soon:
        hub.soon.add(sitting.key)
        hub.do(_tell_seats(hub, sitting))


async def _tell_seats(hub: Hub, sitting: Sitting) -> None:
    many = len(pages_of(hub).get(sitting, ()))
    await asyncio.sleep(GATHER_S + GATHER_A_LINE_S * many)
    hub.soon.discard(sitting.key)
    seats = await database_sync_to_async(seats_told)(sitting)
    text = written({"type": "seats", "seats": seats})
    for page in pages_of(hub).get(sitting, ()):
        page.say(text)
