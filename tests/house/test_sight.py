"""What is withheld shows nowhere: no words, no keys, no counts, no gap in a number.

The stronger half takes the withheld notes away and looks again: the reader's every page
must be the same as before, but for one sentence that tells nothing.
"""

import re
from collections.abc import Callable, Iterator
from io import BytesIO

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Person
from board.permits import Role
from board.slips.queries.sentences import STILL_LOOKING
from board.tissue.models import Note
from board.viewing.views.note_acts import NOTE_ACTS
from board.viewing.views.slip_acts import SLIP_ACTS
from tests.house.door import Door, slip
from tests.house.doors import DOORS
from tests.house.test_doors import knock
from tests.house.world import WORDS, World

WAITING = ("waiting", "declined", "why declined")
UNISSUED = ("unissued", "reply under it")
WITHHELD: dict[Role, tuple[str, ...]] = {
    Role.ILLUSTRATOR: (*WAITING, *UNISSUED),
    Role.AUTHOR: ("issued", *UNISSUED),
    Role.ART_DIRECTOR: WAITING,
    Role.RIGHTS: WAITING,
    Role.PUBLISHER: WAITING,
}  # the table gives the other house roles the same sight: see test_permits
NEW_EACH_TIME = re.compile(
    r'name="(csrfmiddlewaretoken|event|receipt)"[^>]*>|nonce="[^"]*"'
    r'|"receipt":"[^"]*"|data-event="[^"]*"|/[tou]/[^"\s]*|"until":\s*[0-9]+'
)


def _looks() -> list[Door]:
    """Every door, and every form of an act, looked at."""
    on_notes = [Door("viewing:note-act", of=_passed(name)) for name in NOTE_ACTS]
    on_slip = [Door("viewing:slip-act", of=slip(name)) for name in SLIP_ACTS]
    more = [
        Door("api:note", of=lambda w: [w.notes["passed"].key]),
        Door("api:notes", of=lambda w: [w.other.key]),
        Door("viewing:item", of=lambda w: [w.other.key]),
    ]
    return [*DOORS, *on_notes, *on_slip, *more]


def _passed(name: str) -> Callable[[World], list[str]]:
    return lambda world: [world.notes["passed"].key, name]


@pytest.mark.parametrize("role", WITHHELD, ids=lambda role: role.value)
def test_withheld_words_and_keys_show_nowhere(world: World, role: Role) -> None:
    who = world.cast.by_role()[role]
    words = [WORDS[name] for name in WITHHELD[role]]
    hidden = words + world.withheld_keys(*WITHHELD[role])
    told = []
    for door, page in _pages(world, who, _looks()):
        asked = door.of(world)
        told += [
            f"{door.method} {door.name} tells {one!r}"
            for one in hidden
            if one in page and one not in asked and one not in str(door.body(world))
        ]
    assert not told, "\n".join(told)


@pytest.mark.parametrize(
    "role", [Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AUTHOR], ids=lambda r: r.value
)
def test_taking_withheld_notes_away_changes_nothing_that_is_seen(
    world: World, role: Role
) -> None:
    who = world.cast.by_role()[role]
    looks = [door for door in _looks() if door.method == "GET"]
    before = [_still(page) for _, page in _pages(world, who, looks)]
    gone = _withheld_notes(world, role)
    assert gone
    Note.objects.filter(pk__in=[note.pk for note in gone]).delete()
    after = [_still(page) for _, page in _pages(world, who, looks)]
    differ = [
        f"{door.name} {door.of(world)}: {_first_difference(one, other)}"
        for door, one, other in zip(looks, before, after, strict=True)
        if one != other
    ]
    assert not differ, "\n".join(differ)


def _first_difference(one: str, other: str) -> str:
    pairs = zip(one, other, strict=False)
    same = next((n for n, (a, b) in enumerate(pairs) if a != b), 0)
    return f"{one[same - 60 : same + 60]!r} is now {other[same - 60 : same + 60]!r}"


def _withheld_notes(world: World, role: Role) -> list[Note]:
    """Notes that this role may not know, save what went out on a sheet."""
    words = {WORDS[name] for name in WITHHELD[role] if name != "issued"}
    return list(Note.objects.filter(item=world.item, words__in=words))


def _pages(world: World, who: Person, doors: list[Door]) -> Iterator[tuple[Door, str]]:
    cookies = world.client(who).cookies
    for door in doors:
        with transaction.atomic():
            page = _words(knock(door, world, cookies))
            transaction.set_rollback(True)
        yield door, page


def _words(answer: HttpResponse) -> str:
    """What a reader can read of an answer; a PDF's words are packed."""
    if answer.headers.get("Content-Type") == "application/pdf":
        pages = PdfReader(BytesIO(answer.content)).pages
        return "\n".join(page.extract_text() for page in pages)
    return answer.content.decode()


def _still(page: str) -> str:
    """The page without what is new each time, and without the empty sentence."""
    plain = NEW_EACH_TIME.sub("", page)
    said = rf'<li>\s*{re.escape(STILL_LOOKING)}\s*</li>|,?"{re.escape(STILL_LOOKING)}"'
    return re.sub(said, "", plain)


def test_the_editor_sees_what_the_others_do_not(world: World) -> None:
    address = reverse("api:notes", args=[world.item.key])
    page = world.client(world.cast.editor).get(address).content.decode()
    assert all(WORDS[name] in page for name in WORDS)
