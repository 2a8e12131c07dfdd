"""The slip as a page draws it, and what a person may do on it now."""

from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Item, ItemStage
from board.books.queries import books_for, roles_of
from board.books.rules import Standing
from board.daybook.actions import this_moment
from board.permits import (
    Act,
    Facet,
    Role,
    is_house,
    may,
    sees_kinds_of_initials,
)
from board.revisions.models import Revision
from board.slips.models import Hold, Initial, LookAgain, Reopening
from board.slips.queries.due import due_of_line, today_of
from board.slips.queries.sentences import (
    Knows,
    Look,
    because_told,
    knows,
    look_at,
    told,
)
from board.slips.queries.slates import slates_of, stage_of
from board.slips.rules.due import day_told, due_told
from board.slips.rules.guards import (
    Reason,
    why_not_initial,
    why_not_issue,
    why_not_refuse,
    why_not_stand_by,
)
from board.slips.rules.moves import DONE, Move, after
from board.slips.rules.slate import Given, Slate
from board.slips.rules.stations import Asked, Line


@dataclass(frozen=True)
class SlipLine:
    """One line of the slip, as this reader may know it."""

    station: str
    facet: str
    asked: str
    group: int
    who: str
    state: str
    initials: str
    kind: str
    at: datetime | None
    mine: bool
    initial_key: str
    why_not: tuple[str, ...] = ()
    due: str = ""
    stands_for: str = ""


def slip_lines(item: Item, person: Person, look: Look | None = None) -> list[SlipLine]:
    """The slip's lines that are asked or told at the item's latest open stage."""
    look = look or look_at(item, person)
    slate, to = look.slate, look.to
    if slate is None:
        return []
    row = stage_of(item)
    return [
        _line(line, slate, row, to, mine=line.facet in to.facets)
        for line in slate.lines
        if line.asked is not Asked.NOT
    ]


def _line(
    line: Line, slate: Slate, row: ItemStage | None, to: Knows, *, mine: bool
) -> SlipLine:
    given = slate.live.get(line.facet)
    open_to_all = slate.standing in DONE or sees_kinds_of_initials(to.roles)
    own = given is not None and to.person.key in {given.person, given.principal}
    principal = to.principal(line.facet) if mine else None
    why: tuple[str, ...] = ()
    if mine and given is None:
        seen = slate.checksum, slate.text_version
        whose = to.whose(line.facet)
        reasons = why_not_initial(slate, line.facet, whose=whose, seen=seen)
        why = tuple(told(reasons, slate, row, to))
    return SlipLine(
        station=line.station.value,
        facet=line.facet.value,
        asked=line.asked.value,
        group=line.group,
        who=to.names.get(line.station, ""),
        state=_state(line, slate, given, to),
        initials=to.signed(given) if given else "",
        kind=given.kind if given and (open_to_all or own) else "",
        at=given.at if given else None,
        mine=mine,
        initial_key=given.key if given and own else "",
        why_not=why,
        due=_due(line, slate, row, to),
        stands_for=principal.initials if principal else "",
    )


def _due(line: Line, slate: Slate, row: ItemStage | None, to: Knows) -> str:
    """When it is wanted; a told line that let its day pass gave no reply."""
    due = due_of_line(line, slate, row, to.book)
    if due is None:
        return ""
    today = today_of(to.person, this_moment())
    if line.asked is Asked.TOLD and due < today:
        return f"no reply by {day_told(due, today)}"
    return due_told(due, today)


def _state(line: Line, slate: Slate, given: Given | None, to: Knows) -> str:
    if given:
        return "initialled"
    if slate.lapsed.get(line.facet):
        return f"lapsed: {because_told(slate.lapsed[line.facet], to.roles)}"
    if line.consulted:  # nobody signs by silence
        return "no reply" if slate.standing in DONE else "is consulted"
    if slate.standing is not Standing.HUNG:
        return "blank"
    earlier = slate.before(line)
    if earlier:
        return "after " + ", ".join(dict.fromkeys(to.who(other) for other in earlier))
    return "may now" if line.asked is Asked.MUST else "is told"


def flags_on(item: Item) -> list[LookAgain]:
    """What was reopened beside the item, until somebody looked again."""
    rows = item.look_again.filter(looked_at=None)
    return list(rows.select_related("beside").order_by("pk"))


def flag_for(person: Person, key: str) -> LookAgain | None:
    """A flag on a book this person is credited on."""
    rows = LookAgain.objects.filter(key=key, item__book__in=books_for(person))
    return rows.select_related("item__book").first()


def standing_of(item: Item) -> ItemStage | None:
    """The item's latest open stage."""
    return stage_of(item)


def acts_on(item: Item, person: Person, look: Look | None = None) -> tuple[str, ...]:
    """What this person may do on the item now, as words a page asks for."""
    look = look or look_at(item, person)
    roles, slate = look.to.roles, look.slate
    acts = list(_stage_acts(item, roles))
    if slate is None:
        return tuple(acts)
    if may(Act.RAISE_NOTE, roles) and slate.checksum:
        acts.append("raise_note")
    acts += _slip_acts(slate, look.to)
    acts += _hold_acts(item, slate, roles)
    return tuple(acts)


def _stage_acts(item: Item, roles: frozenset[Role]) -> list[str]:
    acts: list[str] = []
    ready = True
    for row in item.stages.all():
        shut = row.standing == Standing.SHUT and not row.waived
        if may(Act.OPEN_STAGE, roles) and shut and ready:
            acts.append(f"open_stage:{row.stage}")
        if may(Act.WAIVE_STAGE, roles) and shut:
            acts.append(f"waive_stage:{row.stage}")
        if may(Act.REOPEN, roles) and row.standing in {
            Standing.OK,
            Standing.OK_AS_CORRECTED,
        }:
            acts.append(f"ask_reopening:{row.stage}")
        ready = ready and (bool(row.waived) or row.standing in DONE)
    return acts


def _slip_acts(slate: Slate, to: Knows) -> list[str]:
    acts: list[str] = []
    roles = to.roles
    if may(Act.ISSUE_SHEET, roles) and not why_not_issue(slate):
        acts.append("issue_sheet")
    if may(Act.SEND_UP, roles) and not why_not_stand_by(slate):
        acts.append("stand_by")
    for facet in to.facets:
        acts += _facet_acts(slate, facet, to)
    return acts


def _facet_acts(slate: Slate, facet: Facet, to: Knows) -> list[str]:
    given, me = slate.live.get(facet), to.person.key
    if given:
        mine = me in {given.person, given.principal}
        pulls = mine and after(slate.standing, Move.LOSE_A_LINE)
        return [f"pull:{given.key}"] if pulls else []
    acts: list[str] = []
    seen = slate.checksum, slate.text_version
    reasons = why_not_initial(slate, facet, whose=to.whose(facet), seen=seen)
    roles = to.roles | {one.role for one in to.lent if facet in one.facets}
    if not reasons and may(Act.INITIAL, roles):
        acts.append(f"initial:{facet.value}")
    if may(Act.INITIAL_AS_CORRECTED, roles) and not _but_own(reasons):
        acts.append(f"initial_as_corrected:{facet.value}")
    own = to.principal(facet) is None
    if own and not why_not_refuse(slate, facet, person=me):
        acts.append(f"refuse:{facet.value}")
    return acts


def _but_own(reasons: list[Reason]) -> list[Reason]:
    """Reasons that listing one's own directions would not lift."""
    return [
        reason
        for reason in reasons
        if not (reason.note and reason.note.sort == "direction")
    ]


def _hold_acts(item: Item, slate: Slate, roles: frozenset[Role]) -> list[str]:
    acts: list[str] = []
    if may(Act.HOLD, roles) and after(slate.standing, Move.HOLD):
        if roles & {Role.EDITOR, Role.ART_DIRECTOR, Role.RIGHTS}:
            acts.append("hold")
        if slate.holds:
            acts.append("release")
    if may(Act.REOPEN, roles) and reopening_asked(item):
        acts.append("agree_reopening")
    return acts


def holds_on(item: Item) -> list[Hold]:
    """Holds nobody released yet."""
    return list(item.holds.filter(released_at=None).select_related("by"))


def reopening_asked(item: Item) -> Reopening | None:
    """A reopening that waits for the other's word."""
    asked = item.reopenings.filter(agreed_at=None, dropped_at=None)
    return asked.select_related("asked_by").first()


def reopening_seen(item: Item, person: Person) -> Reopening | None:
    """The same, for its asker and the house; nobody else learns of it yet."""
    asked = reopening_asked(item)
    house = is_house(roles_of(person, item.book))
    return asked if asked and (house or asked.asked_by_id == person.pk) else None


def listable(item: Item, person: Person) -> list[str]:
    """Keys of open directions this person may list in an OK as corrected."""
    slate = slates_of(item.book, [item]).get(item.pk)
    if slate is None:
        return []
    to = knows(person, item.book)
    whose = frozenset().union(*(to.whose(facet) for facet in to.facets))
    return [
        note.key
        for note in slate.blocking
        if note.sort == "direction"
        and note.has_region
        and note.facet is not Facet.CLEARANCE
        and (note.by in whose or Facet.ART in to.facets)
    ]


def initial_for(person: Person, key: str) -> Initial | None:
    """An initial on a book this person is credited on."""
    return (
        Initial.objects.filter(key=key, slip__item__book__in=books_for(person))
        .select_related("slip__item__book")
        .first()
    )


def shown(item: Item, revision: Revision | None) -> bool:
    """Whether the revision is the current one of the latest open stage."""
    row = stage_of(item)
    return bool(revision and row and revision.stage == row.stage)
