"""One book in the thick of it: everything that has an address exists once."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from django.test import Client
from django.utils import timezone

from accounts.actions import sign_in_link
from accounts.models import Person
from board.books.actions import boxes, credits, make_text_version
from board.books.models import Book, Box, Credit, Invitation, Item
from board.books.rules import Stage, Standing
from board.light_table.models import Comparison
from board.permits import Role
from board.post.actions.wishes import make_feed
from board.repro.models import LeasedWork
from board.revisions.models import Revision, Upload
from board.slips.actions import initials, notes, reopenings, sheets, stages
from board.slips.models import Hold, Initial, Reopening
from board.slips.queries.receipts import receipt_for
from board.tissue.models import Note, NotePicture, NoteSheet
from board.tissue.rules import NoteDraft
from tests import make
from tests.conftest import Cast

Make = Callable[..., Revision]
BOX = [[0.34, 0.30], [0.43, 0.48]]
WORDS = {
    "issued": "Let the oar point to the harbour.",
    "passed": "Could the lamp be lit, please?",
    "waiting": "Marzipan seagull forty-one.",
    "declined": "Velvet anchor seventy-two.",
    "why declined": "Copper thistle eighty-three.",
    "unissued": "Walnut lantern ninety-four.",
    "reply under it": "Indigo turnip fifty-five.",
}
FROM_THE_ARTIST = ("waiting", "declined", "why declined", "unissued", "reply under it")
FROM_THE_HOUSE = ("waiting", "declined", "why declined")


@dataclass(frozen=True)
class World:
    """The book, its people and one of everything."""

    book: Book
    cast: Cast
    item: Item
    other: Item
    first: Revision
    second: Revision
    in_folder: Revision
    notes: dict[str, Note]
    sheet: NoteSheet
    given: Initial
    held: Hold
    reopening: Reopening
    box: Box
    invitation: Invitation
    invitation_token: str
    way_in: str
    credit: Credit
    upload: Upload
    comparison: Comparison
    picture: NotePicture
    feed: str

    def client(self, who: Person | None = None, *, csrf: bool = False) -> Client:
        """A browser, signed in as somebody or as nobody."""
        client = Client(enforce_csrf_checks=csrf)
        if who is not None:
            client.force_login(who)
        return client

    def withheld_keys(self, *names: str) -> list[str]:
        """Keys of notes that must stay unknown."""
        return [self.notes[name].key for name in names if name in self.notes]


def people_on(book: Book) -> Cast:
    people = {role.name.lower(): make.person(name=f"The {role.value}") for role in Role}
    for role in Role:
        make.credit(on=book, who=people[role.name.lower()], role=role)
    return Cast(**people, stranger=make.person(name="A Stranger"))


def build(revision: Make = make.revision) -> World:
    """Play one round and the beginning of the next, by the actions pages call.

    `revision` makes a laid revision of an item; the usual one has no bytes behind it.
    """
    book = make.book()
    cast = people_on(book)
    item, other = book.items.get(label="8-9"), book.items.get(label="10-11")
    words = {item.key: "Otti rowed.", other.key: "The sea was flat."}
    make_text_version(book, words, by=cast.editor, reason="first words")
    first, raised, sheet = _first_round(item, cast, revision)
    second = _send_up(item, cast, revision)
    raised |= _second_round(second, cast)
    make.at(other, Stage.SKETCH, Standing.AT_THE_TABLE)
    invitation = credits.invite(
        book=book, by=cast.editor, email="guest@example.org", roles=[Role.DESIGNER]
    )
    token = "a-token-that-was-mailed"
    return World(
        book=book,
        cast=cast,
        item=item,
        other=other,
        first=first,
        second=second,
        in_folder=revision(of=other, by=cast.illustrator),
        notes=raised,
        sheet=sheet,
        given=_initial(item, second, cast),
        held=_hold(other, cast),
        reopening=reopenings.ask_reopening(
            by=cast.editor,
            item=item,
            stage=Stage.THUMBNAILS,
            draft={"code": "EA", "reason": "The plot turned.", "payer": "house"},
            event=make.event(),
        ),
        box=boxes.place_box(
            item, boxes.Place(0.1, 0.1, 0.2, 0.1), by=cast.designer, sort="type"
        ),
        invitation=_with_token(invitation, token),
        invitation_token=token,
        way_in=sign_in_link(cast.author).rstrip("/").rsplit("/", 1)[-1],
        credit=book.credits.get(person=cast.rights),
        upload=_upload(other, cast),
        comparison=Comparison.objects.create(
            before=first, after=second, recipe="test", work=LeasedWork.State.DONE
        ),
        picture=make.note_picture(under=raised["issued"]),
        feed=_feed(),
    )


def _feed() -> str:
    """The calendar of somebody on another book, whose address anybody may hold."""
    somebody = make.person()
    make.credit(on=make.book(), who=somebody, role=Role.EDITOR)
    return make_feed(somebody)


def _first_round(
    item: Item, cast: Cast, revision: Make
) -> tuple[Revision, dict[str, Note], NoteSheet]:
    make.at(item, Stage.THUMBNAILS, Standing.OK)
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    first = _send_up(item, cast, revision)
    issued = _note(cast.art_director, first, "issued")
    passed = _note(cast.author, first, "passed", sort="query")
    notes.pass_on(by=cast.editor, note=passed, words="", event=make.event())
    sheet = sheets.issue_sheet(by=cast.art_director, item=item, event=make.event())
    for note in (issued, passed):
        notes.answer(
            by=cast.illustrator,
            note=note,
            answer="done",
            words="It is.",
            event=make.event(),
        )
    return first, {"issued": issued, "passed": passed}, sheet


def _second_round(second: Revision, cast: Cast) -> dict[str, Note]:
    waiting = _note(cast.author, second, "waiting")
    declined = _note(cast.author, second, "declined")
    notes.decline(
        by=cast.editor,
        note=declined,
        reason=WORDS["why declined"],
        event=make.event(),
    )
    unissued = _note(cast.designer, second, "unissued")
    _note(cast.production, second, "unissued")  # lies on the same place: a pair
    notes.reply(
        by=cast.art_director,
        note=unissued,
        words=WORDS["reply under it"],
        event=make.event(),
    )
    return {"waiting": waiting, "declined": declined, "unissued": unissued}


def _note(by: Person, on: Revision, name: str, sort: str = "direction") -> Note:
    draft = NoteDraft(sort, WORDS[name], "box", BOX)
    return notes.raise_note(by=by, on=on, draft=draft, event=make.event())


def _send_up(item: Item, cast: Cast, revision: Make) -> Revision:
    new = revision(of=item, by=cast.illustrator)
    return stages.send_up(by=cast.illustrator, revision=new, event=make.event())


def _initial(item: Item, shown: Revision, cast: Cast) -> Initial:
    return initials.initial(
        by=cast.rights,
        item=item,
        facet="clearance",
        receipt=receipt_for(cast.rights, item, shown),
        event=make.event(),
    )


def _hold(item: Item, cast: Cast) -> Hold:
    return Hold.objects.create(
        item=item,
        role=Role.RIGHTS,
        by=cast.rights,
        reason="Whose map is it?",
        at=timezone.now(),
    )


def _with_token(invitation: Invitation, token: str) -> Invitation:
    from accounts.rules import token_hash  # noqa: PLC0415

    invitation.token_hash = token_hash(token)
    invitation.save()
    return invitation


def _upload(item: Item, cast: Cast) -> Upload:
    return Upload.objects.create(
        book_key=item.book.key,
        by=cast.illustrator,
        filename="10-11.png",
        length=1000,
        item=item,
        stage=Stage.SKETCH,
        expires_at=timezone.now() + timedelta(days=7),
    )
