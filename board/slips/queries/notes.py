"""What a reader may do with each note that he sees."""

from collections.abc import Iterable

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.permits import Act, Facet, Role, facets_of, may
from board.tissue.models import Note
from board.tissue.queries import NoteSeen
from board.tissue.rules import ASKING

State = Note.State
LIVE = frozenset({State.OPEN, State.LATE})


def note_acts(
    person: Person,
    item: Item,
    seen: Iterable[NoteSeen],
    *,
    roles: frozenset[Role] | None = None,
) -> dict[str, tuple[str, ...]]:
    """Names of acts by note key: reply, edit, withdraw, answer, close, stet, ..."""
    roles = roles_of(person, item.book) if roles is None else roles
    own = facets_of(roles, studio=item.book.is_studio)
    return {
        one.note.key: tuple(_acts(one.note, person, item.book, roles, own))
        for one in seen
    }


def _acts(
    note: Note,
    person: Person,
    book: Book,
    roles: frozenset[Role],
    own: tuple[Facet, ...],
) -> list[str]:
    acts = ["reply"]
    mine = note.by_id == person.pk
    if mine:
        acts += _own_acts(note)
    if note.state == State.WITH_EDITOR:
        return acts + (["pass_on", "decline"] if may(Act.PASS_ON, roles) else [])
    if note.state not in LIVE or note.sort not in ASKING:
        return acts
    if note.state == State.LATE and may(Act.RULE_LATE, roles):
        acts.append("rule_late")
    if note.state == State.OPEN and may(Act.ANSWER_LINE, roles):
        acts.append("answer")
    elif note.state == State.OPEN and note.sort == "query" and not mine:
        acts.append("answer_query")
    return acts + _closing_acts(note, roles, mine=mine, owns=Facet(note.facet) in own)


def _own_acts(note: Note) -> list[str]:
    if note.ended_at:
        return []
    sent = note.issued_at or note.passed_at
    return [*([] if sent else ["edit"]), "picture", "withdraw"]


def _closing_acts(
    note: Note, roles: frozenset[Role], *, mine: bool, owns: bool
) -> list[str]:
    acts: list[str] = []
    for_author = note.role == Role.AUTHOR and may(Act.PASS_ON, roles)
    closes = mine or for_author or (owns and note.sort != "query")
    if closes and note.answer:
        acts.append("put_back")
        if note.sort == "query" or note.answer == Note.Answer.DONE:
            acts.append("close")
    publisher = Role.PUBLISHER in roles and note.facet != Facet.CLEARANCE
    if note.sort != "query" and (owns or publisher):
        acts.append("stet")
    if mine or owns:
        acts.append("merge")
    return acts
