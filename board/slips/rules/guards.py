"""Why a thing cannot be: every unmet guard, in the order people are told."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum

from board.books.rules import Standing
from board.permits import Facet
from board.slips.rules.moves import Move, after
from board.slips.rules.slate import Held, NoteFact, Slate, SourceFact
from board.slips.rules.stations import Asked, Line


class Why(StrEnum):
    """A kind of reason; the sentence is made where names and dates are known."""

    WITH_THE_ARTIST = "with the artist"
    SHUT = "shut"
    HELD = "held"
    WITH_EDITOR = "with editor"
    OPEN_NOTE = "open note"
    LINE_MISSING = "line missing"
    NOT_HUNG = "not hung"
    NOT_ASKED = "not asked"
    OTHER_PICTURE = "other picture"
    OTHER_WORDS = "other words"
    OWN_NOTE = "own note"
    EARLIER_GROUP = "earlier group"
    NO_LIST = "no list"
    LIST_TOO_LONG = "list too long"
    CANNOT_LIST = "cannot list"
    CANNOT_LIST_CHECK = "cannot list the check"
    NOT_ANSWERED = "not answered"
    NOT_LAID = "not laid"
    SAME_PICTURE = "same picture"
    NOTHING_TO_SEND = "nothing to send"
    PAIR_UNRULED = "pair unruled"
    CLASH_OPEN = "clash open"
    NO_OWN_DIRECTION = "no own direction"
    ISSUED_OPEN = "issued line open"
    SOURCE = "source not cleared"
    CHECK = "check at stop"
    CHECKS_RUNNING = "checks running"


@dataclass(frozen=True)
class Reason:
    """One unmet guard and what it is about."""

    why: Why
    note: NoteFact | None = None
    line: Line | None = None
    held: Held | None = None
    count: int = 0
    source: SourceFact | None = None
    check: str = ""


LONGEST_LIST = 5  # of one OK as corrected; common practice, no source
WITH_ARTIST = frozenset({Standing.AT_THE_TABLE, Standing.RETURNED})


def why_not_ok(slate: Slate) -> list[Reason]:
    """What keeps the item from OK; T9 fires exactly when this is empty."""
    if slate.standing is Standing.SHUT:
        return [Reason(Why.SHUT)]
    reasons = []
    if slate.standing in WITH_ARTIST:
        waiting = sum(note.wants_answer for note in slate.notes)
        reasons.append(Reason(Why.WITH_THE_ARTIST, count=waiting))
    reasons += [Reason(Why.HELD, held=held) for held in slate.holds]
    reasons += [Reason(Why.WITH_EDITOR, note=note) for note in slate.with_editor]
    reasons += [Reason(Why.OPEN_NOTE, note=note) for note in slate.blocking]
    reasons += [Reason(Why.CHECK, check=check) for check in slate.stops]
    reasons += _sources(slate)
    reasons += [
        Reason(Why.LINE_MISSING, line=line) for line in _group_order(slate.missing())
    ]
    return reasons + _running(slate)


def _running(slate: Slate) -> list[Reason]:
    """Nobody answers for what the checks of the current final have yet to say."""
    return [Reason(Why.CHECKS_RUNNING)] if slate.checks_running else []


def _sources(slate: Slate) -> list[Reason]:
    """Every source on the picture at final is granted or not needed."""
    return [Reason(Why.SOURCE, source=source) for source in slate.uncleared]


def why_not_ok_as_corrected(slate: Slate) -> list[Reason]:
    """The same but for the lines a live OK as corrected lists (T10)."""
    if not (slate.listed or slate.listed_checks):
        return [Reason(Why.NO_LIST), *why_not_ok(slate)]
    return [
        reason
        for reason in why_not_ok(slate)
        if not (reason.note and reason.note.key in slate.listed)
        and not (reason.check and reason.check in slate.listed_checks)
    ]


def why_not_initial(
    slate: Slate,
    facet: Facet,
    *,
    whose: Collection[str],
    seen: tuple[str, int],
    except_for: Collection[str] = (),
) -> list[Reason]:
    """What keeps a person from initialling; `seen` is checksum and text version.

    `whose` are the keys of the person and, where a deputy signs, of the principal.
    """
    line = slate.line_for(facet)
    if line is None or line.asked is Asked.NOT:
        return [Reason(Why.NOT_ASKED, line=line)]
    reasons = []
    if after(slate.standing, Move.INITIAL) is None:
        reasons.append(Reason(Why.NOT_HUNG))
    if seen[0] != slate.checksum:
        reasons.append(Reason(Why.OTHER_PICTURE))
    if seen[1] != slate.text_version:
        reasons.append(Reason(Why.OTHER_WORDS))
    reasons += [Reason(Why.HELD, held=held) for held in slate.holds]
    reasons += [
        Reason(Why.EARLIER_GROUP, line=other)
        for other in _group_order(slate.before(line))
    ]
    reasons += [
        Reason(Why.OWN_NOTE, note=note)
        for note in _own_open(slate, whose)
        if note.key not in except_for
    ]
    reasons += _sources(slate) if facet is Facet.CLEARANCE else []
    return reasons + (_running(slate) if facet is Facet.PRESS else [])


def why_not_list(
    slate: Slate,
    facet: Facet,
    *,
    whose: Collection[str],
    listed: Collection[str],
    checks: Collection[str] = (),
) -> list[Reason]:
    """What is wrong with what an OK as corrected lists: 1 to 5 small things.

    They are directions; production may list checks at stop, alone or beside them.
    """
    count = len(listed) + len(checks)
    if not count:
        return [Reason(Why.NO_LIST)]
    reasons = [Reason(Why.LIST_TOO_LONG, count=count)] if count > LONGEST_LIST else []
    if set(checks) - set(slate.stops) or (checks and facet is not Facet.PRESS):
        reasons.append(Reason(Why.CANNOT_LIST_CHECK))
    known = {note.key: note for note in slate.blocking}
    for key in listed:
        note = known.get(key)
        if note is None or not _may_list(note, facet, whose):
            reasons.append(Reason(Why.CANNOT_LIST, note=note))
    return reasons


def _may_list(note: NoteFact, facet: Facet, whose: Collection[str]) -> bool:
    """Own directions with a region; the owner of art lists anyone's but clearance."""
    if note.sort != "direction" or not note.has_region:
        return False
    if note.facet is Facet.CLEARANCE:
        return False
    return facet is Facet.ART or note.by in whose


def why_not_refuse(slate: Slate, facet: Facet, *, person: str) -> list[Reason]:
    """A must line may refuse over an own open direction."""
    line = slate.line_for(facet)
    if line is None or line.asked is not Asked.MUST:
        return [Reason(Why.NOT_ASKED, line=line)]
    reasons = []
    if after(slate.standing, Move.REFUSE) is None:
        reasons.append(Reason(Why.NOT_HUNG))
    if not any(note.sort == "direction" for note in _own_open(slate, [person])):
        reasons.append(Reason(Why.NO_OWN_DIRECTION))
    return reasons


def why_not_send_up(slate: Slate, *, checksum: str, laid: bool) -> list[Reason]:
    """What keeps a revision in the folder."""
    reasons = []
    if after(slate.standing, Move.SEND_UP) is None:
        reasons.append(Reason(Why.NOT_HUNG))
    if not laid:
        reasons.append(Reason(Why.NOT_LAID))
    if checksum == slate.checksum:
        reasons.append(Reason(Why.SAME_PICTURE))
    reasons += [
        Reason(Why.NOT_ANSWERED, note=note) for note in slate.notes if note.wants_answer
    ]
    return reasons


def why_not_stand_by(slate: Slate) -> list[Reason]:
    """Nothing that was issued may still be open when the same picture goes up."""
    reasons = []
    if after(slate.standing, Move.STAND_BY) is None:
        reasons.append(Reason(Why.NOT_HUNG))
    if not slate.checksum:
        reasons.append(Reason(Why.NOT_LAID))
    reasons += [
        Reason(Why.ISSUED_OPEN, note=note) for note in slate.blocking if note.issued
    ]
    return reasons


def why_not_issue(slate: Slate) -> list[Reason]:
    """What keeps a note sheet from going out (T5)."""
    reasons = []
    if after(slate.standing, Move.ISSUE_SHEET) is None:
        reasons.append(Reason(Why.NOT_HUNG))
    reasons += [Reason(Why.WITH_EDITOR, note=note) for note in slate.with_editor]
    if slate.unruled_pairs:
        reasons.append(Reason(Why.PAIR_UNRULED, count=slate.unruled_pairs))
    if slate.open_clashes:
        reasons.append(Reason(Why.CLASH_OPEN, count=slate.open_clashes))
    if not _to_send(slate):
        reasons.append(Reason(Why.NOTHING_TO_SEND))
    return reasons


def _to_send(slate: Slate) -> bool:
    supplement = slate.standing is not Standing.HUNG
    return any(not (supplement and note.issued) for note in slate.blocking)


def _own_open(slate: Slate, whose: Collection[str]) -> list[NoteFact]:
    mine = (*slate.blocking, *slate.with_editor)
    return [
        note
        for note in mine
        if note.by in whose and note.sort in {"direction", "query"}
    ]


def _group_order(lines: Iterable[Line]) -> list[Line]:
    return sorted(lines, key=lambda line: line.group or 99)
