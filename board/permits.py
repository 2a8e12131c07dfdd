"""Who may do what, and who sees what: the one table everybody asks."""

from collections.abc import Collection
from enum import StrEnum

from board.errors import NotPermitted


class Role(StrEnum):
    """A credit on a book."""

    ILLUSTRATOR = "illustrator"
    AUTHOR = "author"
    EDITOR = "editor"
    ART_DIRECTOR = "art director"
    DESIGNER = "designer"
    PRODUCTION = "production"
    RIGHTS = "rights"
    PUBLISHER = "publisher"


class Facet(StrEnum):
    """What an initial is about."""

    FIT = "fit"
    STORY = "story"
    PRESS = "press"
    ART = "art"
    WORDS = "words"
    CLEARANCE = "clearance"


class Act(StrEnum):
    """Something a person may do on a book."""

    LOOK = "look"
    SET_UP_BOOK = "set up the book"
    CREDIT_PEOPLE = "credit people"
    PLACE_BOXES = "place boxes"
    EDIT_TEXT = "edit the text"
    SAY_WHAT_PICTURE_ADDS = "say what the picture adds"
    UPLOAD = "upload"
    SEND_UP = "send up"
    ANSWER_LINE = "answer a line"
    ANSWER_QUERY = "answer a query"
    OPEN_STAGE = "open a stage"
    WAIVE_STAGE = "waive a stage"
    ISSUE_SHEET = "issue a note sheet"
    RULE_PAIR = "rule a pair"
    SHORT_SLIP = "call a short slip"
    SET_PRESS = "set the press"
    INITIAL_BOOK = "initial the book slip"
    HAND_OVER = "hand over"
    RECALL = "recall"
    CHANGE_FORMAT = "change trim, bleed or extent"
    SET_STATIONS = "set the stations"
    NAME_DEPUTY = "name a deputy"
    SET_TYPE = "set the type"
    RULE_LATE = "rule a late note"
    READ_LEDGER = "read the ledger of alterations"
    RAISE_NOTE = "raise a note"
    REPLY = "reply"
    INITIAL = "initial"
    INITIAL_AS_CORRECTED = "initial as corrected"
    REFUSE = "refuse"
    PASS_ON = "pass on an author's note"  # noqa: S105  # not a password
    STET = "stet"
    MERGE = "merge"
    REOPEN = "reopen"
    HOLD = "hold"
    DOWNLOAD_ORIGINAL = "download an original"
    READ_DAYBOOK = "read the daybook"
    READ_SOURCES = "read the records of sources"
    ENTER_SOURCE = "enter a source"
    JUDGE_SOURCE = "change the clearance of a source"
    KEEP_CONTINUITY = "keep the continuity sheet"
    READ_THROUGH = "record a reading"
    READ_LETTER = "read an author's letter"
    PLAN_SITTING = "plan a sitting"
    SIT_IN = "sit in on a sitting"
    CHAIR_SITTING = "chair a sitting"
    DECIDE = "write a decision line"


R = Role
HOUSE = frozenset(
    {R.EDITOR, R.ART_DIRECTOR, R.DESIGNER, R.PRODUCTION, R.RIGHTS, R.PUBLISHER}
)
STATIONED = HOUSE | {R.AUTHOR}
EVERYBODY = STATIONED | {R.ILLUSTRATOR}

MAY: dict[Act, frozenset[Role]] = {
    Act.LOOK: EVERYBODY,
    Act.SET_UP_BOOK: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PUBLISHER}),
    Act.CREDIT_PEOPLE: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PUBLISHER}),
    Act.PLACE_BOXES: frozenset({R.ILLUSTRATOR, R.DESIGNER, R.ART_DIRECTOR, R.EDITOR}),
    Act.EDIT_TEXT: frozenset({R.EDITOR}),
    Act.SAY_WHAT_PICTURE_ADDS: frozenset({R.ILLUSTRATOR, R.EDITOR}),
    Act.UPLOAD: frozenset({R.ILLUSTRATOR}),
    Act.SEND_UP: frozenset({R.ILLUSTRATOR}),
    Act.ANSWER_LINE: frozenset({R.ILLUSTRATOR}),
    Act.ANSWER_QUERY: EVERYBODY,
    Act.OPEN_STAGE: frozenset({R.ART_DIRECTOR}),
    Act.WAIVE_STAGE: frozenset({R.ART_DIRECTOR}),
    Act.ISSUE_SHEET: frozenset({R.ART_DIRECTOR}),
    Act.RULE_PAIR: frozenset({R.ART_DIRECTOR}),
    Act.SHORT_SLIP: frozenset({R.ART_DIRECTOR}),
    Act.SET_PRESS: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PRODUCTION, R.PUBLISHER}),
    Act.INITIAL_BOOK: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PRODUCTION, R.PUBLISHER}),
    Act.HAND_OVER: frozenset({R.PRODUCTION}),
    Act.RECALL: frozenset({R.PUBLISHER}),
    Act.CHANGE_FORMAT: frozenset({R.PRODUCTION}),
    Act.SET_STATIONS: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PUBLISHER}),
    Act.NAME_DEPUTY: STATIONED,
    Act.SET_TYPE: frozenset({R.DESIGNER, R.ART_DIRECTOR, R.EDITOR}),
    Act.RULE_LATE: frozenset({R.ART_DIRECTOR}),
    Act.READ_LEDGER: HOUSE,
    Act.RAISE_NOTE: STATIONED,
    Act.REPLY: EVERYBODY,
    Act.INITIAL: STATIONED - {R.PUBLISHER},
    Act.INITIAL_AS_CORRECTED: frozenset(
        {R.EDITOR, R.ART_DIRECTOR, R.DESIGNER, R.PRODUCTION}
    ),
    Act.REFUSE: STATIONED - {R.PUBLISHER},
    Act.PASS_ON: frozenset({R.EDITOR}),
    Act.STET: STATIONED,
    Act.MERGE: STATIONED,
    Act.REOPEN: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PUBLISHER}),
    Act.HOLD: frozenset({R.EDITOR, R.ART_DIRECTOR, R.RIGHTS, R.PUBLISHER}),
    Act.DOWNLOAD_ORIGINAL: frozenset(
        {R.ILLUSTRATOR, R.ART_DIRECTOR, R.DESIGNER, R.PRODUCTION}
    ),
    Act.READ_DAYBOOK: EVERYBODY,
    Act.READ_SOURCES: HOUSE | {R.ILLUSTRATOR},
    Act.ENTER_SOURCE: frozenset({R.ILLUSTRATOR, R.ART_DIRECTOR, R.DESIGNER, R.RIGHTS}),
    Act.JUDGE_SOURCE: frozenset({R.RIGHTS}),
    Act.KEEP_CONTINUITY: frozenset(
        {R.ILLUSTRATOR, R.EDITOR, R.ART_DIRECTOR, R.DESIGNER}
    ),
    Act.READ_THROUGH: STATIONED,
    Act.READ_LETTER: frozenset({R.AUTHOR}),
    Act.PLAN_SITTING: frozenset({R.EDITOR, R.ART_DIRECTOR, R.PUBLISHER}),
    Act.SIT_IN: EVERYBODY,
    Act.CHAIR_SITTING: HOUSE,
    Act.DECIDE: HOUSE,
}

OWNS: dict[Role, Facet] = {
    R.DESIGNER: Facet.FIT,
    R.EDITOR: Facet.STORY,
    R.PRODUCTION: Facet.PRESS,
    R.ART_DIRECTOR: Facet.ART,
    R.AUTHOR: Facet.WORDS,
    R.RIGHTS: Facet.CLEARANCE,
}
OWNS_IN_STUDIO: dict[Role, tuple[Facet, ...]] = {
    R.ART_DIRECTOR: (Facet.ART,),
    R.PRODUCTION: (Facet.PRESS, Facet.CLEARANCE),
    R.AUTHOR: (Facet.WORDS, Facet.STORY, Facet.FIT),
}
STUDIO_DUTIES: dict[Role, frozenset[Role]] = {
    R.AUTHOR: frozenset({R.EDITOR, R.DESIGNER}),
    R.PRODUCTION: frozenset({R.RIGHTS}),
    R.ART_DIRECTOR: frozenset({R.PUBLISHER}),
}


def acting_roles(roles: Collection[Role], *, studio: bool) -> frozenset[Role]:
    """Widen the roles by the duties they take over in a small studio."""
    acting = set(roles)
    if studio:
        for role in roles:
            acting |= STUDIO_DUTIES.get(role, frozenset())
    return frozenset(acting)


def facets_of(roles: Collection[Role], *, studio: bool) -> tuple[Facet, ...]:
    """The facets these roles own; nobody credited as illustrator owns art."""
    found: list[Facet] = []
    for role in roles:
        owned = OWNS_IN_STUDIO.get(role, ()) if studio else (OWNS.get(role),)
        found += [facet for facet in owned if facet]
    if Role.ILLUSTRATOR in roles:
        found = [facet for facet in found if facet in _maker_keeps(studio=studio)]
    return tuple(dict.fromkeys(found))


def _maker_keeps(*, studio: bool) -> frozenset[Facet]:
    """What an author-illustrator may still initial: house preset the words only."""
    return frozenset(Facet) - {Facet.ART} if studio else frozenset({Facet.WORDS})


def may(act: Act, roles: Collection[Role]) -> bool:
    """Whether any of the roles allows the act."""
    return not MAY[act].isdisjoint(roles)


def require(act: Act, roles: Collection[Role]) -> None:
    """Raise `NotPermitted`, in words, unless one of the roles allows the act."""
    if not may(act, roles):
        who = ", ".join(sorted(role.value for role in MAY[act]))
        raise NotPermitted(f"Only these credits may {act.value} here: {who}.")


def is_house(roles: Collection[Role]) -> bool:
    """Whether somebody of the house (not only author or illustrator) looks."""
    return not HOUSE.isdisjoint(roles)


def sees_waiting_author_notes(roles: Collection[Role]) -> bool:
    """Only the editor sees an author's note before it is passed on."""
    return Role.EDITOR in roles


def sees_kinds_of_initials(roles: Collection[Role]) -> bool:
    """Whether OK and OK as corrected are told apart before the slip is complete."""
    return is_house(roles)


def may_see_note(
    roles: Collection[Role], *, own: bool, waiting: bool, passed: bool, issued: bool
) -> bool:
    """Whether a note exists for this reader.

    waiting: an author's note that was never passed on (or declined, or withdrawn
    before); passed: anything the house works with; issued: it went out on a note
    sheet, or the book lets notes reach the artist at once.
    """
    if own:
        return True
    if waiting:
        return sees_waiting_author_notes(roles)
    if is_house(roles):
        return passed
    return Role.ILLUSTRATOR in roles and issued
