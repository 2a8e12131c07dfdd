"""Notes are raised, edited, answered and passed on; each write may move a slip."""

from django.db import transaction

from accounts.models import Person
from board.daybook.models import Entry
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotFound, NotPermitted, NotUnderstood, Stale, WrongMove
from board.permits import Act, Facet, Role, facets_of, may, require
from board.revisions.models import Revision
from board.slips.actions.locked import Locked, event_of, lock
from board.slips.models import Initial
from board.slips.queries.sentences import TAKEN_OFF
from board.slips.rules.moves import LATE, Move, after
from board.tissue.actions import (
    Raised,
    end,
    keep,
    rewrite,
    write_answer,
    write_note,
    write_reply,
)
from board.tissue.models import Note, Reply
from board.tissue.queries import sees, sheet_of
from board.tissue.rules import ASKING, BLOCKING, LONGEST_WORDS, NoteDraft, checked

State = Note.State
STATION_ORDER = (
    Role.EDITOR,
    Role.ART_DIRECTOR,
    Role.DESIGNER,
    Role.PRODUCTION,
    Role.RIGHTS,
    Role.PUBLISHER,
    Role.AUTHOR,
)


@transaction.atomic
def raise_note(*, by: Person, on: Revision, draft: NoteDraft, event: str) -> Note:
    """Pin a note to a place on the sheet; the writer's own initial there is pulled."""
    locked = lock(on.item, by=by, event=event)
    sent = Note.objects.filter(by=by, event=locked.event).order_by("pk").first()
    if sent is not None:
        return sent
    locked.require(Act.RAISE_NOTE)
    if not on.is_up:
        raise NotFound
    if after(locked.standing, Move.RAISE_NOTE) is None:
        raise WrongMove("No stage is open here yet, so there is nothing to note.")
    draft = checked(draft, sheet_of(locked.item))
    role = _role(locked, draft.role)
    note = write_note(
        raised=Raised(
            by, role, _facet(locked, role, draft.facet), locked.event, locked.now
        ),
        on=on,
        draft=draft,
        stage=locked.stage,
        state=_first_state(locked, role, draft.sort),
    )
    locked.role = role
    locked.enter(Happened.NOTE_RAISED, locked.page_of(note))
    if draft.sort in BLOCKING and note.state in {State.OPEN, State.WITH_EDITOR}:
        _pull_own(locked)
    # Nothing settles: a note, and an initial less, only add to why an item is not OK.
    return note


def _role(locked: Locked, wished: str) -> Role:
    if wished:
        role = Role(wished) if wished in list(Role) else None
        if role not in locked.roles or role is Role.ILLUSTRATOR:
            raise NotPermitted("You cannot write as that: it is not a credit of yours.")
        return role
    held = [role for role in STATION_ORDER if role in locked.roles]
    own = [role for role in held if not (locked.book.is_studio and role is Role.EDITOR)]
    return (own or held)[0]


def _facet(locked: Locked, role: Role, wished: str) -> Facet:
    if wished:
        if wished not in list(Facet):
            raise NotUnderstood(
                "A note is about art, story, words, fit, clearance or press."
            )
        return Facet(wished)
    owned = facets_of([role], studio=locked.book.is_studio)
    return owned[0] if owned else Facet.ART


def _first_state(locked: Locked, role: Role, sort: str) -> Note.State:
    """Authors' notes wait with the editor, in a house; the rest begins at once."""
    if role is Role.AUTHOR and not may(Act.PASS_ON, locked.roles):
        return State.WITH_EDITOR
    return begun(locked, sort)


def begun(locked: Locked, sort: str) -> Note.State:
    """The state a passed note begins in: keeps stand, comments are noted."""
    if sort == Note.Class.KEEP:
        return State.STANDS
    if sort == Note.Class.COMMENT:
        return State.NOTED
    return State.LATE if locked.standing in LATE else State.OPEN


def _pull_own(locked: Locked) -> None:
    """Take the writer's initials off; the words betray no note to anybody."""
    mine = Initial.objects.filter(
        slip__item=locked.item,
        slip__stage=locked.stage,
        slip__closed_at=None,
        person=locked.by,
        ended_at=None,
    )
    locked.lapse([Facet(initial.facet) for initial in mine], TAKEN_OFF)


def opened(
    note: Note, *, by: Person, event: str, role: str = ""
) -> tuple[Locked, Note, Entry | None]:
    """Lock the note's item; the note afresh, and the entry if it was sent already."""
    locked = lock(note.item, by=by, event=event, role=role)
    fresh = (
        Note.objects.select_for_update(of=("self",))
        .select_related("by", "made_on")
        .get(pk=note.pk)
    )
    fresh.item = locked.item
    if not sees(fresh, by, locked.book, locked.roles):
        raise NotFound
    return locked, fresh, happened_already(locked.book.key, locked.event)


def told_words(words: str, *, needed: str) -> str:
    """Tidy words; `needed` says what is missing when there are none."""
    tidy = words.strip()
    if not tidy and needed:
        raise NotUnderstood(needed)
    if len(tidy) > LONGEST_WORDS:
        raise NotUnderstood(f"At most {LONGEST_WORDS} characters, please.")
    return tidy


@transaction.atomic
def edit_note(
    *, by: Person, note: Note, draft: NoteDraft, version: int, event: str
) -> Note:
    """Change one's own note, as long as nobody was sent it."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    if note.by_id != by.pk:
        raise NotPermitted("Only its writer may change a note. Reply to it instead.")
    if note.version != version:
        raise Stale(now={note.sort: note.words})
    if note.issued_at or note.ended_at or note.passed_at:
        raise WrongMove("This note was sent on already. Reply, or withdraw it.")
    draft = checked(draft, sheet_of(locked.item))
    if note.state != State.WITH_EDITOR and draft.sort != note.sort:
        note.state = begun(locked, draft.sort)
    rewrite(note, draft, now=locked.now)
    locked.enter(Happened.NOTE_EDITED, locked.page_of(note))
    locked.settle()
    return note


@transaction.atomic
def withdraw(*, by: Person, note: Note, event: str, reason: str = "") -> Note:
    """Take one's own note back; its words stay in the record."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    if note.by_id != by.pk:
        raise NotPermitted("Only its writer may withdraw a note.")
    if note.ended_at:
        raise WrongMove(f"This note is closed already: {note.state}.")
    end(note, State.WITHDRAWN, by=by, now=locked.now, ruling=reason.strip())
    locked.enter(Happened.NOTE_WITHDRAWN, locked.page_of(note))
    locked.settle()
    return note


@transaction.atomic
def reply(*, by: Person, note: Note, words: str, event: str) -> Reply:
    """Write a word under a note that one may see."""
    locked, note, _ = opened(note, by=by, event=event)
    sent = Reply.objects.filter(by=by, event=event_of(by, event)).first()
    if sent is not None:
        return sent
    locked.require(Act.REPLY)
    words = told_words(words, needed="A reply needs words.")
    made = write_reply(
        note=note, by=by, words=words, event=locked.event, now=locked.now
    )
    locked.enter(Happened.REPLIED, locked.page_of(note, reply=made.key))
    return made


@transaction.atomic
def answer(*, by: Person, note: Note, answer: str, words: str, event: str) -> Note:
    """Answer an issued line: done, not done because, or a query back."""
    locked, note, before = opened(note, by=by, event=event, role=Role.ILLUSTRATOR)
    if before:
        return note
    locked.require(Act.ANSWER_LINE)
    if note.state != State.OPEN or note.sort not in ASKING:
        raise WrongMove("This line is not open, so there is nothing to answer.")
    if answer not in {"done", "not done because", "query"}:
        raise NotUnderstood("Answer a line: done, not done because, or query.")
    needed = "" if answer == "done" and note.sort != "query" else "Say it in words."
    words = told_words(words, needed=needed)
    write_answer(note, answer=answer, words=words, by=by, now=locked.now)
    locked.enter(Happened.ANSWERED, locked.page_of(note, answer=answer))
    return note


@transaction.atomic
def answer_query(*, by: Person, note: Note, words: str, event: str) -> Note:
    """Answer a query that one may see; its raiser still closes it."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    require(Act.ANSWER_QUERY, locked.roles)
    if note.state != State.OPEN or note.sort != Note.Class.QUERY:
        raise WrongMove("This is not an open query.")
    if note.by_id == by.pk:
        raise WrongMove("This is your own query. Somebody else answers, you close it.")
    words = told_words(words, needed="An answer needs words.")
    write_answer(note, answer="done", words=words, by=by, now=locked.now)
    locked.enter(Happened.ANSWERED, locked.page_of(note, answer="answered"))
    return note


@transaction.atomic
def pass_on(*, by: Person, note: Note, words: str, event: str) -> Note:
    """Pass an author's note on to the house, in the editor's words if any (T4)."""
    locked, note = _waiting(note, by=by, event=event)
    if note.passed_at:
        return note
    note.passed_at = locked.now
    note.passed_words = told_words(words, needed="")
    note.state = begun(locked, note.sort)
    keep(note)
    locked.enter(Happened.PASSED_ON, locked.page_of(note))
    locked.settle()
    return note


@transaction.atomic
def decline(*, by: Person, note: Note, reason: str, event: str) -> Note:
    """Decline an author's note with a reason that she reads (T4)."""
    locked, note = _waiting(note, by=by, event=event)
    if note.ended_at:
        return note
    reason = told_words(reason, needed="Say why: the author reads your reason.")
    end(note, State.DECLINED, by=by, now=locked.now, ruling=reason)
    locked.enter(Happened.DECLINED, locked.page_of(note))
    locked.settle()
    return note


def _waiting(note: Note, *, by: Person, event: str) -> tuple[Locked, Note]:
    locked, note, before = opened(note, by=by, event=event, role=Role.EDITOR)
    if before:
        return locked, note
    locked.require(Act.PASS_ON)
    if note.state != State.WITH_EDITOR:
        raise WrongMove("This note does not wait with the editor any more.")
    return locked, note
