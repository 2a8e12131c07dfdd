"""Notes are closed, put back, stet, merged; pairs are ruled. The ruler is named."""

from django.db import transaction

from accounts.models import Person
from board.books.rules import STAGES
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import Act, Facet, Role, facets_of, may
from board.slips.actions.locked import Locked
from board.slips.actions.notes import opened, told_words
from board.tissue.actions import blank_answer, end, keep, write_ruling
from board.tissue.models import Note, PairRuling
from board.tissue.queries import pairs_to_rule, ruled_pairs
from board.tissue.rules import ASKING

State = Note.State
NEXT_STAGE, NEXT_PRINTING = LATE_WAYS = ("next stage", "next printing")


def owns_facet(locked: Locked, note: Note) -> bool:
    """Whether this person owns the note's facet on this book."""
    facet = Facet(note.facet)
    return facet in facets_of(locked.roles, studio=locked.book.is_studio)


def may_close(locked: Locked, note: Note) -> bool:
    """Its raiser, its facet's owner, whoever listed it; the editor for the author.

    A query is closed by its raiser only, or by the editor for the author.
    """
    if note.by_id == locked.by.pk:
        return True
    if note.role == Role.AUTHOR and may(Act.PASS_ON, locked.roles):
        return True
    if note.sort == Note.Class.QUERY:
        return False
    return owns_facet(locked, note) or note.listed_by_id == locked.by.pk


def _open_line(locked: Locked, note: Note) -> None:
    if note.state not in {State.OPEN, State.LATE} or note.sort not in ASKING:
        raise WrongMove("This note is not open any more.")
    if not may_close(locked, note):
        raise NotPermitted(
            "Only its writer, the owner of its facet, or whoever listed it may say so."
        )


@transaction.atomic
def close(*, by: Person, note: Note, event: str) -> Note:
    """Close a line the artist says is done, or a query that was answered."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    _open_line(locked, note)
    if not note.answer:
        raise WrongMove("Nobody answered this line yet. Withdraw it, or let it stand.")
    if note.sort != Note.Class.QUERY and note.answer != Note.Answer.DONE:
        raise WrongMove(
            f"The artist says: {note.answer}. Put the line back, withdraw it, or rule "
            "that it stands (stet)."
        )
    state = State.ANSWERED if note.sort == Note.Class.QUERY else State.DONE
    end(note, state, by=by, now=locked.now)
    locked.enter(Happened.CLOSED, locked.page_of(note))
    locked.settle()
    return note


@transaction.atomic
def put_back(*, by: Person, note: Note, reason: str, event: str) -> Note:
    """Say that it is not done: the line wants an answer again."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    _open_line(locked, note)
    if not note.answer:
        raise WrongMove("Nobody answered this line yet.")
    words = told_words(reason, needed="Say what is still missing.")
    blank_answer(note)
    locked.enter(Happened.OPENED_AGAIN, locked.page_of(note, reason=words))
    locked.settle()
    return note


@transaction.atomic
def stet(*, by: Person, note: Note, ruling: str, event: str) -> Note:
    """Let the art stand: only the facet's owner rules so, or the publisher."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    if note.state not in {State.OPEN, State.LATE} or note.sort == Note.Class.QUERY:
        raise WrongMove("Only an open direction or suggestion can be ruled stet.")
    publisher = Role.PUBLISHER in locked.roles and note.facet != Facet.CLEARANCE
    if not (owns_facet(locked, note) or publisher):
        raise NotPermitted(
            f"This note concerns {note.facet}; only the owner of that facet rules it."
        )
    words = told_words(ruling, needed="Say why it stands; the ruling is kept.")
    end(note, State.STET, by=by, now=locked.now, ruling=words)
    locked.enter(Happened.STET, locked.page_of(note))
    locked.settle()
    return note


@transaction.atomic
def rule_late(*, by: Person, note: Note, ruling: str, words: str, event: str) -> Note:
    """Say what becomes of a late note: the next stage or the next printing.

    The other two ways are acts of their own: its owner's stet, and a reopening.
    """
    locked, note, before = opened(note, by=by, event=event, role=Role.ART_DIRECTOR)
    if before:
        return note
    locked.require(Act.RULE_LATE)
    if note.state != State.LATE:
        raise WrongMove("This note is not late (any more).")
    if ruling not in LATE_WAYS:
        raise NotUnderstood(
            "A late note waits for the next stage or the next printing."
        )
    if ruling == NEXT_STAGE and locked.stage is STAGES[-1]:
        raise WrongMove(
            "Final is the last stage. Let it wait for the next printing, have it stet "
            "by its owner, or ask to reopen."
        )
    words = told_words(words, needed="Say why it may wait; the ruling is kept.")
    if ruling == NEXT_STAGE:
        note.waits_for, note.ruling = ruling, words
        keep(note)
    else:
        end(note, State.LEFT, by=by, now=locked.now, ruling=f"{ruling}: {words}")
    locked.enter(Happened.LATE_RULED, locked.page_of(note, how=ruling))
    return note


@transaction.atomic
def merge(*, by: Person, note: Note, into: Note, event: str) -> Note:
    """Let another open note of the item speak for this one."""
    locked, note, before = opened(note, by=by, event=event)
    if before:
        return note
    if note.by_id != by.pk and not owns_facet(locked, note):
        raise NotPermitted("Only its writer or the owner of its facet merges a note.")
    _merge(locked, note, into)
    locked.settle()
    return note


def _merge(locked: Locked, note: Note, into: Note) -> None:
    into = Note.objects.get(pk=into.pk)
    if into.item_id != note.item_id or into.pk == note.pk:
        raise NotUnderstood("A note merges into another note of the same item.")
    if note.state not in {State.OPEN, State.LATE} or into.state != State.OPEN:
        raise WrongMove("Both notes must be open to merge them.")
    if note.facet == Facet.CLEARANCE and not owns_facet(locked, note):
        raise NotPermitted("Only rights rule on a clearance note.")
    note.merged_into = into
    end(note, State.MERGED, by=locked.by, now=locked.now)
    locked.enter(Happened.MERGED, locked.page_of(note, into=into.key))


@transaction.atomic
def rule_pair(
    *, by: Person, one: Note, other: Note, ruling: str, event: str
) -> PairRuling | None:
    """Rule two directions on one place: clash, same (one merges) or unrelated."""
    locked, one, before = opened(one, by=by, event=event, role=Role.ART_DIRECTOR)
    if before:
        return PairRuling.objects.filter(one=one, other=other).first()
    locked.require(Act.RULE_PAIR)
    if ruling not in PairRuling.Ruling.values:
        raise NotUnderstood("Rule a pair: clash, same or unrelated.")
    pair = frozenset({one.key, other.key})
    offered = {frozenset({a.key, b.key}) for a, b, _ in pairs_to_rule(locked.item)}
    if pair in ruled_pairs(locked.item) or pair not in offered:
        raise WrongMove("That pair waits for no ruling (any more).")
    made = write_ruling(one, other, PairRuling.Ruling(ruling), by=by, now=locked.now)
    locked.enter(Happened.PAIR_RULED, locked.page_of(one, other=other.key, how=ruling))
    if ruling == PairRuling.Ruling.SAME:
        _merge(locked, one, other)
    locked.settle()
    return made
