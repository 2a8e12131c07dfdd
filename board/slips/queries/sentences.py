"""Reasons as sentences: who, which line, since when, as far as a reader may know."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from accounts.models import Person
from board.books.models import Book, Credit, Item, ItemStage
from board.books.queries.deputies import StandsFor, is_lent, lent_to
from board.books.rules import Standing
from board.permits import (
    Facet,
    Role,
    acting_roles,
    facets_of,
    is_house,
    may_see_note,
)
from board.slips.queries.slates import slates_of, stage_of
from board.slips.rules.guards import Reason, Why, why_not_ok
from board.slips.rules.slate import Given, NoteFact, Slate
from board.slips.rules.stations import Line

STILL_LOOKING = "The house is still looking."
TAKEN_OFF = "taken off by its giver"


@dataclass(frozen=True)
class Knows:
    """What a reader needs to be told things: names, zone, and their own sight."""

    person: Person
    book: Book
    roles: frozenset[Role]
    names: dict[Role, str]
    initials: dict[str, str]
    lent: tuple[StandsFor, ...] = ()

    @property
    def facets(self) -> tuple[Facet, ...]:
        """What this reader may initial today, p.p. included."""
        own = facets_of(self.roles, studio=self.book.is_studio)
        lent = [facet for one in self.lent for facet in one.facets]
        return tuple(dict.fromkeys([*own, *lent]))

    def principal(self, facet: Facet) -> Person | None:
        """For whom this reader would sign p.p., if it is not their own line."""
        if facet in facets_of(self.roles, studio=self.book.is_studio):
            return None
        return next((one.principal for one in self.lent if facet in one.facets), None)

    def whose(self, facet: Facet) -> frozenset[str]:
        """Keys of those whose open notes keep this reader from initialling."""
        principal = self.principal(facet)
        return frozenset(
            {self.person.key, principal.key} if principal else {self.person.key}
        )

    def signed(self, given: Given) -> str:
        """Whose initials stand there: a deputy's with the principal's."""
        by = self.initials.get(given.person, "")
        whom = self.initials.get(given.principal, "")
        return f"{by} p.p. {whom}" if whom else by

    def day(self, moment: datetime | None) -> str:
        if moment is None:
            return "the start"
        zone = ZoneInfo(self.person.time_zone or "UTC")
        local = moment.astimezone(zone)
        return f"{local.day} {local:%B}"

    def who(self, line: Line) -> str:
        return self.names.get(line.station) or f"nobody yet ({line.station.value})"

    def may_see(self, note: NoteFact) -> bool:
        waiting = note.state == "with editor"
        return may_see_note(
            self.roles,
            own=note.by == self.person.key,
            waiting=waiting,
            passed=True,
            issued=note.issued or (self.book.notes_at_once and not waiting),
        )


def knows(person: Person, book: Book) -> Knows:
    """Gather once what sentences on this book need for this reader."""
    return knows_all(person, [book])[book.pk]


def knows_all(person: Person, books: Iterable[Book]) -> dict[int, Knows]:
    """The same for many books, by book, in one query."""
    books = list(books)
    keys = [book.pk for book in books]
    live = Credit.objects.filter(book__in=keys, ended_at=None)
    live = live.annotate(lent=is_lent(person))
    rows = list(live.select_related("person").order_by("pk"))
    lent = lent_to(person, books) if any(row.lent for row in rows) else {}
    found = {
        book.pk: Knows(person, book, frozenset(), {}, {}, tuple(lent.get(book.pk, ())))
        for book in books
    }
    makers = {
        (credit.book_id, credit.person_id)
        for credit in rows
        if credit.role == Role.ILLUSTRATOR
    }
    own: dict[int, set[Role]] = {pk: set() for pk in found}
    for credit in rows:
        to, role = found[credit.book_id], Role(credit.role)
        who = credit.person
        to.initials[who.key] = who.initials
        known = to.names.get(role)
        makes = (credit.book_id, who.pk) in makers
        if not (makes and role is Role.ART_DIRECTOR):  # nobody initials own art
            to.names[role] = f"{known}, {who.initials}" if known else who.initials
        if who.pk == person.pk:
            own[credit.book_id].add(role)
    return {
        pk: replace(to, roles=acting_roles(own[pk], studio=to.book.is_studio))
        for pk, to in found.items()
    }


@dataclass(frozen=True)
class Look:
    """A slate and what its reader knows, gathered once by a page that asks it all."""

    slate: Slate | None
    to: Knows


def look_at(item: Item, person: Person) -> Look:
    """Gather both for one item."""
    return Look(slates_of(item.book, [item]).get(item.pk), knows(person, item.book))


def told(
    reasons: Sequence[Reason], slate: Slate, row: ItemStage | None, to: Knows
) -> list[str]:
    """The reasons as this reader may know them, nothing twice."""
    sentences: list[str] = []
    hidden = False
    listed = slate.listed
    for reason in sorted(reasons, key=lambda one: _is_listed(one, listed)):
        if reason.note is not None and not to.may_see(reason.note):
            hidden = True
            continue
        sentences.append(_sentence(reason, slate, row, to))
    if hidden:
        sentences.append(STILL_LOOKING)
    return list(dict.fromkeys(sentences))


def _is_listed(reason: Reason, listed: frozenset[str]) -> bool:
    """Lines that an OK as corrected rests on are told last: they wait for the art."""
    return reason.note is not None and reason.note.key in listed


def _sentence(reason: Reason, slate: Slate, row: ItemStage | None, to: Knows) -> str:
    since = to.day(row.since if row else None)
    if reason.note is not None:
        return _about_note(reason.why, reason.note, slate, to)
    if reason.line is not None:
        return _about_line(reason.why, reason.line, slate, to)
    if reason.source is not None or reason.held is not None or reason.check:
        return _about_picture(reason, slate, to)
    if reason.why is Why.WITH_THE_ARTIST:
        return _with_the_artist(reason.count, since, to)
    return PLAIN[reason.why].format(count=reason.count, standing=slate.standing.value)


def _about_picture(reason: Reason, slate: Slate, to: Knows) -> str:
    """A source, a hold or a check, whichever the reason is about."""
    if reason.source is not None:
        source, day = reason.source, to.day(reason.source.since)
        return f"Source {source.code} is {source.clearance} since {day}."
    if reason.held is not None:
        by = to.initials.get(reason.held.person, reason.held.role.value)
        return f"Held by {by} since {to.day(reason.held.since)}: {reason.held.reason}"
    listed = " (listed)" if reason.check in slate.listed_checks else ""
    return f"{reason.check}{listed}"


PLAIN = {
    Why.SHUT: "No stage is open here yet. The art director opens one.",
    Why.NOT_HUNG: "The item is {standing}, so this cannot be done now.",
    Why.NOT_ASKED: "This facet is not asked at this stage.",
    Why.OTHER_PICTURE: "Your screen showed another revision than the current one. "
    "Look at the current one, then initial that.",
    Why.OTHER_WORDS: "The words changed since your screen showed them. Read them "
    "again, then initial.",
    Why.CHECKS_RUNNING: "The checks of this revision are still running. Look again in "
    "a minute.",
    Why.NO_LIST: "OK as corrected needs what it rests on: list 1 to 5 small directions "
    "(production may list a check at stop instead).",
    Why.LIST_TOO_LONG: "{count} lines are too many for OK as corrected: list 5 at "
    "most, or return the item.",
    Why.CANNOT_LIST: "A listed line is not an open direction of yours with a place.",
    Why.CANNOT_LIST_CHECK: "Only production lists a check, and only one that is at "
    "stop.",
    Why.NOT_LAID: "The revision is not laid on the sheet yet. Lay it, then send it up.",
    Why.SAME_PICTURE: "These are the same bytes as the current revision. If nothing "
    "changed on purpose, stand by it instead.",
    Why.NOTHING_TO_SEND: "There is no open direction or query to send. A note sheet "
    "needs one.",
    Why.PAIR_UNRULED: "{count} pair(s) of directions lie on the same place and wait "
    "for the art director: clash, same thing or unrelated.",
    Why.CLASH_OPEN: "{count} clash(es) are open: the owner of the facet closes one of "
    "the two.",
    Why.NO_OWN_DIRECTION: "To refuse, say first what must change: raise a direction.",
}


def _with_the_artist(lines: int, since: str, to: Knows) -> str:
    who = to.names.get(Role.ILLUSTRATOR, "the illustrator")
    if to.roles == {Role.AUTHOR}:  # she knows of her own lines only
        return f"With {who} since {since}."
    if not lines:
        return f"With {who} since {since}: a revision to send up."
    word = "line" if lines == 1 else "lines"
    return f"With {who} since {since}: {lines} {word} to answer."


def _about_note(why: Why, note: NoteFact, slate: Slate, to: Knows) -> str:
    since = to.day(note.raised_at)
    if why is Why.WITH_EDITOR or note.state == "with editor":
        editor = to.names.get(Role.EDITOR, "the editor")
        return f"An author's note waits with {editor} since {since}."
    if why is Why.OWN_NOTE:
        return (
            f"Before you initial, look at your own {note.sort} {note.label}: close it, "
            "withdraw it, or list it in an OK as corrected."
        )
    if why is Why.CANNOT_LIST:
        return f"{note.sort.capitalize()} {note.label} cannot be listed by you."
    if why is Why.NOT_ANSWERED:
        return f"Line {note.label} is not answered yet."
    by = to.initials.get(note.by, "its writer")
    if why is Why.OPEN_NOTE and note.key in slate.listed:
        return f"Direction {note.label} is listed: {by} looks again once it is done."
    answer = ""
    if note.answer:
        artist = to.names.get(Role.ILLUSTRATOR, "the illustrator")
        answer = f": {artist} says {note.answer}, {by} has not looked"
    return f"{note.sort.capitalize()} {note.label} is open since {since}{answer}."


def because_told(because: str, roles: frozenset[Role]) -> str:
    """Why an initial lapsed; what its giver says of it is for the house to read."""
    own = because.startswith(("pulled", "refused"))
    return TAKEN_OFF if own and not is_house(roles) else because


def _about_line(why: Why, line: Line, slate: Slate, to: Knows) -> str:
    facet = line.facet.value
    if why is Why.NOT_ASKED:
        return f"{facet.capitalize()} is not asked at {slate.stage.value}."
    who = to.who(line)
    after = ", ".join(dict.fromkeys(to.who(other) for other in slate.before(line)))
    when = f"after {after}" if after else "may now"
    if slate.standing is not Standing.HUNG:
        when = "once it hangs"
    has = "have" if ", " in who else "has"
    lapsed = slate.lapsed.get(line.facet)
    because = f"; lapsed: {because_told(lapsed, to.roles)}" if lapsed else ""
    return f"{who} {has} not initialled {facet} ({when}{because})."


def why_not_ok_told(item: Item, person: Person, look: Look | None = None) -> list[str]:
    """Every sentence that keeps the item from OK, for this reader."""
    look = look or look_at(item, person)
    if look.slate is None:
        return [PLAIN[Why.SHUT]]
    return told(why_not_ok(look.slate), look.slate, stage_of(item), look.to)


def why_not_ok_of_book(
    book: Book, person: Person, items: Iterable[Item]
) -> dict[str, str]:
    """The first sentence of each item, in a fixed number of queries."""
    items = list(items)
    slates, to = slates_of(book, items), knows(person, book)
    first = {}
    for item in items:
        slate = slates.get(item.pk)
        if slate is None:
            first[item.key] = PLAIN[Why.SHUT]
            continue
        sentences = told(why_not_ok(slate), slate, stage_of(item), to)
        first[item.key] = sentences[0] if sentences else ""
    return first
