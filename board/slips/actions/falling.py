"""Lines that fall because something under them changed (T14, T18, T19)."""

from board.permits import Facet
from board.slips.actions.locked import Locked
from board.slips.rules.moves import Move, after, lapses
from board.slips.rules.stations import Asked
from board.tissue.actions import keep
from board.tissue.models import Note


def fall(locked: Locked, change: str, because: str) -> None:
    """End the initials that do not stand through the change, then settle.

    The item leaves OK only if a must line fell, or one that had listed something.
    """
    slate = locked.slate()
    gone = [facet for facet in slate.live if lapses(facet, change)]
    fell = [
        facet for facet in gone if slate.live[facet].listed or _is_must(locked, facet)
    ]
    locked.lapse(gone, because)
    if fell and after(locked.standing, Move.LOSE_A_LINE):
        locked.move(Move.LOSE_A_LINE)
        late_open(locked)
    locked.settle()


def _is_must(locked: Locked, facet: Facet) -> bool:
    line = locked.slate().line_for(facet)
    return line is not None and line.asked is Asked.MUST


def late_open(locked: Locked) -> None:
    """Late notes become ordinary open ones, now that the slip is open again."""
    for note in Note.objects.filter(item=locked.item, state=Note.State.LATE):
        note.state, note.stage, note.waits_for = Note.State.OPEN, locked.stage, ""
        keep(note)
