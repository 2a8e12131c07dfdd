"""The daybook as each reader may read it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.daybook.models import Entry, NameInRecord
from board.daybook.queries import entries_of, names
from board.daybook.rules import Happened
from board.permits import Role, sees_kinds_of_initials
from board.slips.queries.sentences import because_told
from board.tissue.models import Note
from board.tissue.queries import sees

H = Happened
ABOUT_NOTES = frozenset(
    {
        H.NOTE_RAISED,
        H.NOTE_EDITED,
        H.NOTE_WITHDRAWN,
        H.REPLIED,
        H.PICTURE_ADDED,
        H.PICTURE_TAKEN_OFF,
        H.PASSED_ON,
        H.DECLINED,
        H.ANSWERED,
        H.CLOSED,
        H.OPENED_AGAIN,
        H.STET,
        H.MERGED,
        H.PAIR_RULED,
        H.MOVED_ON,
        H.REFUSED,
        H.LATE_RULED,
    }
)
FOLDER = frozenset({H.UPLOADED, H.PUT_AWAY, H.LAID, H.CHANGE_NAMED, H.SOURCE_PLANNED})
SIGNED = frozenset({H.INITIALLED, H.BOOK_INITIALLED, H.DEPUTY_NAMED, H.DEPUTY_ENDED})
TURNED = frozenset(
    {H.INITIAL_LAPSED, H.INITIAL_CARRIED, H.CREDIT_GIVEN, H.CREDIT_ENDED}
)
OWN_OR_HOUSE = frozenset({H.NOT_APPLIED, H.REOPENING_ASKED, H.INITIAL_PULLED})


@dataclass(frozen=True)
class Told:
    """One entry in words."""

    number: int
    at: datetime
    who: str
    initials: str
    role: str
    sentence: str
    item: str
    stage: str
    short_code: str
    text_version: int | None


def daybook_for(person: Person, book: Book, item: Item | None = None) -> list[Told]:
    """The record, oldest first, without what this reader may not know."""
    rows = entries_of(book.key)
    if item is not None:
        rows = rows.filter(item_key=item.key)
    entries = list(rows)
    known = Known(person, book, entries)
    entries = [entry for entry in entries if known.may(entry)]
    labels = dict(book.items.values_list("key", "label"))
    told = []
    for place, entry in enumerate(entries, start=1):
        writer = known.people.get(entry.by_key)
        told.append(
            Told(
                number=place,
                at=entry.at,
                who=writer.name if writer else "the board",
                initials=writer.initials if writer else "",
                role=entry.role,
                sentence=known.sentence(entry),
                item=labels.get(entry.item_key, ""),
                stage=entry.stage,
                short_code=f"{entry.checksum[:4]} {entry.checksum[4:8]}".strip(),
                text_version=entry.text_version,
            )
        )
    return told


def may_know(entry: Entry, person: Person, book: Book) -> bool:
    """Whether this reader may learn that the entry was made."""
    return Known(person, book, [entry]).may(entry)


@dataclass(frozen=True)
class About:
    """What entries are about, whoever may see it: notes by key, people by key."""

    notes: dict[str, Note]
    people: dict[str, NameInRecord]


def read_about(book: Book, entries: Iterable[Entry]) -> About:
    """The notes that entries are about, and the people who made or are named in them."""
    keys, people = set[str](), set[str]()
    for entry in entries:
        keys |= {entry.about_key, str(entry.details.get("other", ""))}
        named = (entry.details.get(name, "") for name in ("for", "whose", "person"))
        people |= {entry.by_key, *(str(one) for one in named)}
    found = Note.objects.filter(key__in=keys - {""}, item__book=book)
    notes = found.select_related("by", "item", "made_on")
    return About({note.key: note for note in notes}, names(people - {""}))


class Known:
    """One reader's sight over entries, with the notes fetched once."""

    def __init__(self, person: Person, book: Book, entries: list[Entry]) -> None:
        self.person, self.book = person, book
        self.roles = roles_of(person, book)
        about = read_about(book, entries)
        self.notes, self.people = about.notes, about.people

    @classmethod
    def by(
        cls, person: Person, book: Book, roles: frozenset[Role], about: "About"
    ) -> "Known":
        """The same with roles, notes and names that were fetched already."""
        known = cls.__new__(cls)
        known.person, known.book, known.roles = person, book, roles
        known.notes, known.people = about.notes, about.people
        return known

    def may(self, entry: Entry) -> bool:
        if not self.roles:
            return False
        own = entry.by_key == self.person.key
        kind = Happened(entry.kind)
        if kind in FOLDER:
            return Role.ILLUSTRATOR in self.roles
        if kind in OWN_OR_HOUSE:
            return own or sees_kinds_of_initials(self.roles)
        if kind in ABOUT_NOTES:
            return self._may_note(entry.about_key) and (
                kind is not H.PAIR_RULED or self._may_note(entry.details.get("other"))
            )
        return True

    def _may_note(self, key: str | None) -> bool:
        note = self.notes.get(key or "")
        return note is not None and sees(note, self.person, self.book, self.roles)

    def sentence(self, entry: Entry) -> str:
        return sentence(entry, self)

    def name(self, key: object) -> str:
        """A person's name as the record shows it."""
        return self.people[str(key)].name if str(key) in self.people else "somebody"


def sentence(entry: Entry, known: Known) -> str:
    """What happened, in words this reader may read."""
    told = entry.details
    kind = Happened(entry.kind)
    if kind in SIGNED:
        return _signed(kind, entry, known)
    if kind is H.STANDING_MOVED:
        return f"{entry.stage}: {told.get('from')} to {told.get('to')}"
    if kind is H.SENT_UP:
        return f"sent up {entry.stage}, revision {told.get('revision')}"
    if kind in TURNED:
        return _turned(kind, entry, known)
    if kind is H.SHEET_ISSUED:
        return f"note sheet {told.get('sheet')} issued"
    if kind is H.NOT_APPLIED and entry.by_key != known.person.key:
        told = {"facet": told.get("facet")}  # the reasons were told to one person only
    return _plain(kind, told)


def _signed(kind: Happened, entry: Entry, known: Known) -> str:
    """An initial, or who may sign p.p.: both names wherever there are two."""
    told = entry.details
    whom = f" p.p. {known.name(told['for'])}" if told.get("for") else ""
    if kind is H.INITIALLED:
        shows = sees_kinds_of_initials(known.roles) or entry.by_key == known.person.key
        how = f": {told.get('kind')}" if shows else ""
        return f"initialled {told.get('facet')}{whom}{how}"
    if kind is H.BOOK_INITIALLED:
        return f"{kind.value}{whom}"
    who = known.name(told.get("whose"))
    return f"{kind.value}: {who}{whom}, {told.get('role')}, {told.get('days')}"


def _turned(kind: Happened, entry: Entry, known: Known) -> str:
    """An initial or a credit that came or went, with whose it is."""
    told = entry.details
    if kind in {H.CREDIT_GIVEN, H.CREDIT_ENDED}:
        return f"{kind.value}: {known.name(told.get('person'))}, {told.get('role')}"
    what = f"initial of {known.name(told.get('whose'))} for {told.get('facet')}"
    if kind is H.INITIAL_CARRIED:
        return f"{what} carried"
    return f"{what} lapsed: {because_told(str(told.get('because', '')), known.roles)}"


def _plain(kind: Happened, told: dict[str, object]) -> str:
    words = [kind.value]
    for name in ("class", "facet", "answer", "how", "reason", "code", "payer", "words"):
        if told.get(name):
            words.append(str(told[name]))
    reasons = told.get("reasons")
    if isinstance(reasons, list):
        words += [str(reason) for reason in reasons]
    return ": ".join([words[0], ", ".join(words[1:])]) if words[1:] else words[0]
