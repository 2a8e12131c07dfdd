"""The one table of moves: from which standing, by what, to which."""

from enum import StrEnum

from board.books.rules import Standing
from board.permits import Facet

S = Standing


class Move(StrEnum):
    """An event of the slip; T numbers are kept in the words of DEVELOPERS.md."""

    OPEN_STAGE = "open the stage"  # T1
    SEND_UP = "send up"  # T2
    STAND_BY = "stand by"  # T2b
    RAISE_NOTE = "raise a note"  # T3
    ISSUE_SHEET = "issue a note sheet"  # T5
    INITIAL = "initial"  # T6
    INITIAL_AS_CORRECTED = "initial as corrected"  # T7
    REFUSE = "refuse"  # T8
    COME_OK = "come OK"  # T9
    COME_OK_AS_CORRECTED = "come OK as corrected"  # T10
    LOSE_A_LINE = "lose a must line"  # T12, T14, T18, T19
    REOPEN = "reopen"  # T13
    SHUT_AGAIN = "shut again"  # T13, later stages
    HOLD = "hold"  # T15
    HAND_OVER = "hand over"  # T16
    RECALL = "recall"  # T17


MOVES: dict[tuple[Standing, Move], Standing] = {
    (S.SHUT, Move.OPEN_STAGE): S.AT_THE_TABLE,
    (S.AT_THE_TABLE, Move.SEND_UP): S.HUNG,
    (S.RETURNED, Move.SEND_UP): S.HUNG,
    (S.HUNG, Move.SEND_UP): S.HUNG,
    (S.OK_AS_CORRECTED, Move.SEND_UP): S.HUNG,
    (S.AT_THE_TABLE, Move.STAND_BY): S.HUNG,
    (S.RETURNED, Move.STAND_BY): S.HUNG,
    (S.HUNG, Move.ISSUE_SHEET): S.RETURNED,
    (S.AT_THE_TABLE, Move.ISSUE_SHEET): S.AT_THE_TABLE,
    (S.RETURNED, Move.ISSUE_SHEET): S.RETURNED,
    (S.HUNG, Move.INITIAL): S.HUNG,
    (S.HUNG, Move.INITIAL_AS_CORRECTED): S.HUNG,
    (S.HUNG, Move.REFUSE): S.HUNG,
    (S.HUNG, Move.COME_OK): S.OK,
    (S.OK_AS_CORRECTED, Move.COME_OK): S.OK,
    (S.HUNG, Move.COME_OK_AS_CORRECTED): S.OK_AS_CORRECTED,
    (S.HUNG, Move.LOSE_A_LINE): S.HUNG,
    (S.OK, Move.LOSE_A_LINE): S.HUNG,
    (S.OK_AS_CORRECTED, Move.LOSE_A_LINE): S.HUNG,
    (S.OK, Move.REOPEN): S.AT_THE_TABLE,
    (S.OK_AS_CORRECTED, Move.REOPEN): S.AT_THE_TABLE,
    (S.OK, Move.HAND_OVER): S.HANDED_OVER,
    (S.HANDED_OVER, Move.RECALL): S.OK,
}
MOVES |= {(standing, Move.RAISE_NOTE): standing for standing in S if standing != S.SHUT}
MOVES |= {
    (standing, Move.HOLD): standing for standing in S if standing != S.HANDED_OVER
}
MOVES |= {
    (standing, Move.SHUT_AGAIN): S.SHUT for standing in S if standing != S.HANDED_OVER
}

DONE = frozenset({S.OK, S.OK_AS_CORRECTED, S.HANDED_OVER})
LATE = frozenset({S.OK, S.OK_AS_CORRECTED, S.HANDED_OVER})

STANDS_THROUGH: dict[str, frozenset[Facet]] = {
    "new revision": frozenset(),
    "new text": frozenset({Facet.ART, Facet.CLEARANCE, Facet.PRESS}),
    "sources": frozenset(Facet) - {Facet.CLEARANCE},
    "format": frozenset({Facet.WORDS, Facet.CLEARANCE}),
}


def after(standing: Standing, move: Move) -> Standing | None:
    """Where the move leads from here, or None if it is not possible."""
    return MOVES.get((standing, move))


def lapses(facet: Facet, change: str) -> bool:
    """Whether an initial for the facet lapses when that changed."""
    return facet not in STANDS_THROUGH[change]
