"""What a line of the table of doors is made of.

A line says what the allowed are answered (`ok`), who they are (`may`), and for whom
the thing does not even exist (`blind`, 404). Everybody else credited on the book is
answered 403, a stranger 404, and who is not signed in is sent to sign in (pages, 302)
or told to (programs, 401).
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from board.permits import EVERYBODY, HOUSE, Role
from board.post.queries import off_token
from board.revisions.models import StoryboardSheet
from tests import make
from tests.house.world import BOX, World

R = Role
Roles = frozenset[Role]
ONLY_ARTIST = frozenset({R.ILLUSTRATOR})
SEE_HOUSE_NOTES = HOUSE | ONLY_ARTIST  # once they are issued
Body = dict[str, Any]


def nothing(_world: World) -> Body:
    return {}


@dataclass(frozen=True)
class Door:
    """One method on one address."""

    name: str
    method: str = "GET"
    of: Callable[[World], list[str]] = field(default=lambda world: [])
    ok: int = 200
    may: Roles = EVERYBODY
    blind: Roles = frozenset()
    body: Callable[[World], Body] = nothing
    query: Callable[[World], str] = field(default=lambda world: "")
    anonymous: int | None = None
    stranger: int = 404

    @property
    def for_programs(self) -> bool:
        return self.name.startswith("api:")

    def nobody(self) -> int:
        """What somebody is answered who is not signed in."""
        if self.anonymous is not None:
            return self.anonymous
        return 401 if self.for_programs else 302

    def expected(self, role: Role) -> int:
        if role in self.blind:
            return 404
        return self.ok if role in self.may else 403


def book(world: World) -> list[str]:
    return [world.book.key]


def item(world: World) -> list[str]:
    return [world.item.key]


def other(world: World) -> list[str]:
    return [world.other.key]


def issued(world: World) -> list[str]:
    return [world.notes["issued"].key]


def unissued(world: World) -> list[str]:
    return [world.notes["unissued"].key]


def waiting(world: World) -> list[str]:
    return [world.notes["waiting"].key]


def folder(world: World) -> list[str]:
    return [world.in_folder.key]


def upload(world: World) -> list[str]:
    return [world.upload.key]


def storyboard(world: World) -> list[str]:
    made = StoryboardSheet.objects.get_or_create(
        book=world.book,
        by=world.cast.illustrator,
        defaults={
            "key": "sheetforthedoors",
            "size": 1,
            "sent_at": make.NOW,
            "work": "done",
            "step": "ready",
        },
    )
    return [made[0].key]


def act(name: str) -> Callable[[World], list[str]]:
    return lambda world: [*issued(world), name]


def slip(name: str, *subject: str) -> Callable[[World], list[str]]:
    return lambda world: [world.item.key, name, *subject]


def event(**more: Any) -> Callable[[World], Body]:
    return lambda _world: {"event": make.event(), **more}


def note_body(world: World) -> Body:
    told = {"sort": "comment", "words": "How quiet.", "mark": "box", "points": BOX}
    return {"event": make.event(), "revision": world.second.key, **told}


def format_body(world: World) -> Body:
    told = {"extent": 36, "reason": "Four pages more.", "code": "EA", "payer": "house"}
    return {"move": "change_format", "version": world.book.version, **told}


def shown(world: World) -> str:
    return f"?revision={world.second.key}"


def off(world: World) -> list[str]:
    return [off_token(world.cast.author, world.book)]
