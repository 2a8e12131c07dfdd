"""Reading notes: each reader sees what the table in `permits` lets them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import Pencil, books_for, pencils, roles_of
from board.errors import NotFound
from board.permits import Role, is_house, may_see_note
from board.repro.grants import grant_tiles
from board.repro.unlaid import GLIMPSE, glimpse_key
from board.revisions.queries import scope_of
from board.tissue.models import (
    Note,
    NotePicture,
    NoteSheet,
    PairRuling,
    Reply,
    SheetLine,
)
from board.tissue.rules import (
    ASKING,
    SHEET_ORDER,
    Placed,
    Sheet,
    clash_candidates,
    clockwise,
    region_of,
)

Roles = frozenset[Role]
UNPASSED = frozenset({Note.State.WITH_EDITOR, Note.State.DECLINED})


@dataclass(frozen=True)
class NoteSeen:
    """A note as one reader sees it."""

    note: Note
    label: str
    by_initials: str
    by_name: str
    pencil: Pencil
    words: str
    replies: tuple[Reply, ...]
    is_open: bool
    superseded: bool
    pictures: tuple[NotePicture, ...] = ()


def sheet_of(item: Item) -> Sheet:
    """The item's sheet in millimetres."""
    return Sheet(item.width_mm, item.height_mm, item.book.bleed_mm, item.is_double)


def all_notes(item: Item) -> QuerySet[Note]:
    """Every note on the item; only rules and rulers use this, never a page."""
    return Note.objects.filter(item=item).select_related("by", "made_on")


def sees(note: Note, person: Person, book: Book, roles: Roles) -> bool:
    """Whether this note exists for this reader."""
    return may_see_note(
        roles,
        own=note.by_id == person.pk,
        waiting=_never_passed(note),
        passed=True,
        issued=note.issued_at is not None
        or (book.notes_at_once and not _never_passed(note)),
    )


def _never_passed(note: Note) -> bool:
    if note.state in UNPASSED:
        return True
    withdrawn_before = note.state == Note.State.WITHDRAWN and note.passed_at is None
    return note.role == Role.AUTHOR and withdrawn_before


def notes_for(
    person: Person, item: Item, *, roles: Roles | None = None
) -> list[NoteSeen]:
    """What this reader may see on the item: keeps first, then in reading order."""
    book = item.book
    roles = roles_of(person, book) if roles is None else roles
    rows = _whole(all_notes(item).select_related("item"))
    notes = [note for note in rows if sees(note, person, book, roles)]
    drawn = pencils(book)
    newest = _newest_number(item)
    seen = [_seen(note, person, roles, drawn, newest) for note in notes]
    return sorted(
        seen,
        key=lambda one: (
            SHEET_ORDER[one.note.sort] > 0,
            not one.is_open,
            clockwise(one.note.points),
            one.note.raised_at,
        ),
    )


def seen_as(person: Person, note: Note, *, roles: Roles) -> NoteSeen:
    """One note of a book as this reader sees it now; 404 when it is not there."""
    fresh = _whole(all_notes(note.item).filter(pk=note.pk)).order_by("pk").first()
    if fresh is None or not sees(fresh, person, note.item.book, roles):
        raise NotFound
    fresh.item = note.item
    return _seen(fresh, person, roles, {}, _newest_number(note.item))


def _whole(rows: QuerySet[Note]) -> QuerySet[Note]:
    """Notes with all that is shown of them."""
    return rows.select_related(
        "answered_by", "ended_by", "merged_into", "listed_by"
    ).prefetch_related(
        Prefetch("replies", Reply.objects.select_related("by").order_by("at", "pk")),
        Prefetch(
            "pictures",
            NotePicture.objects.filter(taken_off_at=None).order_by("at", "pk"),
        ),
    )


def _newest_number(item: Item) -> dict[str, int]:
    rows = item.revisions.filter(number__isnull=False).order_by()
    newest: dict[str, int] = defaultdict(int)
    for stage, number in rows.values_list("stage", "number"):
        newest[stage] = max(newest[stage], number or 0)
    return newest


def _seen(
    note: Note,
    person: Person,
    roles: Roles,
    drawn: dict[str, Pencil],
    newest: dict[str, int],
) -> NoteSeen:
    shown = shows_own_words(note, person, roles)
    return NoteSeen(
        note=note,
        label=f"{note.line} {note.by.initials}".strip(),
        by_initials=note.by.initials,
        by_name=note.by.name,
        pencil=drawn.get(note.by.key)
        or Pencil(0, "plain", note.by.initials, note.by.name),
        words=note.words if shown else note.passed_words or note.words,
        replies=tuple(
            reply for reply in note.replies.all() if hears(reply, note, person, roles)
        ),
        is_open=is_open(note),
        superseded=(note.made_on.number or 0) < newest.get(note.made_on.stage, 0),
        pictures=tuple(note.pictures.all()),
    )


def hears(reply: Reply, note: Note, person: Person, roles: Roles) -> bool:
    """Whether a reply is for this reader; what the house says to itself stays there.

    The artist hears what was said since the line was issued, the author what was said
    since her note was passed on; everybody hears themselves (common practice).
    """
    if reply.by_id == person.pk or is_house(roles):
        return True
    since = note.issued_at if Role.ILLUSTRATOR in roles else note.passed_at
    return since is not None and reply.at >= since


def shows_own_words(note: Note, person: Person, roles: Roles) -> bool:
    """The artist reads a passed-on note in the editor's words, others as written."""
    only_artist = Role.ILLUSTRATOR in roles and len(roles) == 1
    return note.by_id == person.pk or not only_artist


def is_open(note: Note) -> bool:
    """Whether somebody still has to do something about it."""
    waiting = note.state in {Note.State.WITH_EDITOR, Note.State.LATE}
    return waiting or (note.state == Note.State.OPEN and note.sort in ASKING)


def note_for(person: Person, key: str) -> Note:
    """The note, if it exists for this reader."""
    rows = Note.objects.select_related("item__book", "by", "made_on")
    note = rows.filter(key=key).order_by("pk").first()
    if note is None:
        raise NotFound
    roles = roles_of(person, note.item.book)
    if not roles or not sees(note, person, note.item.book, roles):
        raise NotFound
    return note


def picture_for(person: Person, key: str) -> NotePicture:
    """A reference picture, if the note it lies under exists for this reader."""
    rows = NotePicture.objects.filter(key=key, taken_off_at=None)
    found = rows.select_related("note").first()
    if found is None:
        raise NotFound
    found.note = note_for(person, found.note.key)
    return found


def picture_address(picture: NotePicture, person: Person, book: Book) -> str:
    """Where this person sees a reference picture; runs out."""
    scope = scope_of(book, person)
    return f"{grant_tiles(glimpse_key(picture.key), scope)}/{GLIMPSE}"


def open_counts(book: Book, person: Person) -> dict[str, dict[str, int]]:
    """Open notes by item and class, as this reader may know them."""
    roles = roles_of(person, book)
    states = [Note.State.OPEN, Note.State.WITH_EDITOR, Note.State.LATE]
    notes = Note.objects.filter(item__book=book, state__in=states).values_list(
        "item__key", "sort", "state", "role", "by", "issued_at", "passed_at"
    )
    counts: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for item_key, sort, state, _role, by, issued_at, _passed in notes:
        waiting = state == Note.State.WITH_EDITOR
        if may_see_note(
            roles,
            own=by == person.pk,
            waiting=waiting,
            passed=True,
            issued=issued_at is not None or (book.notes_at_once and not waiting),
        ):
            counts[item_key][sort] += 1
    return {key: dict(classes) for key, classes in counts.items()}


def sheets_for(
    person: Person, item: Item, *, roles: Roles | None = None
) -> list[NoteSheet]:
    """The item's note sheets; an author reads only her own lines."""
    roles = roles_of(person, item.book) if roles is None else roles
    lines = SheetLine.objects.select_related("note__by")
    if roles == {Role.AUTHOR}:
        lines = lines.filter(note__by=person)
    sheets = item.note_sheets.select_related("issued_by", "revision").order_by("number")
    return list(sheets.prefetch_related(Prefetch("lines", lines.order_by("number"))))


def sheet_for(person: Person, key: str) -> NoteSheet:
    """One note sheet, with the lines that this reader may read."""
    found = NoteSheet.objects.filter(key=key, item__book__in=books_for(person))
    sheet = found.select_related("item__book").first()
    if sheet is None:
        raise NotFound
    return next(one for one in sheets_for(person, sheet.item) if one.pk == sheet.pk)


def open_directions(notes: Iterable[Note], sheet: Sheet) -> list[Placed]:
    """Open directions that were passed on, as the clash finder takes them."""
    return [
        Placed(
            key=note.key,
            by=str(note.by_id),
            region=None
            if note.place_unknown
            else region_of(note.mark, note.points, sheet),
        )
        for note in notes
        if note.sort == Note.Class.DIRECTION and note.state == Note.State.OPEN
    ]


def ruled_pairs(item: Item) -> dict[frozenset[str], str]:
    """Rulings so far, by the keys of the two notes."""
    rows = PairRuling.objects.filter(one__item=item).values_list(
        "one__key", "other__key", "ruling"
    )
    return {frozenset({one, other}): ruling for one, other, ruling in rows}


def pairs_to_rule(item: Item) -> list[tuple[Note, Note, float]]:
    """Pairs of open directions that the art director has not ruled yet."""
    notes = {note.key: note for note in all_notes(item)}
    placed = open_directions(notes.values(), sheet_of(item))
    pairs = clash_candidates(placed, frozenset(ruled_pairs(item)))
    return [(notes[one], notes[other], share) for one, other, share in pairs]


def open_clashes(item: Item) -> int:
    """Pairs ruled a clash of which both notes are still open."""
    return PairRuling.objects.filter(
        one__item=item,
        ruling=PairRuling.Ruling.CLASH,
        one__state=Note.State.OPEN,
        other__state=Note.State.OPEN,
    ).count()


def holds_picture(sha256: str) -> bool:
    """Whether a reference picture under a note is kept as these bytes."""
    return NotePicture.objects.filter(sha256=sha256).exists()


def note_told(
    note: Note, person: Person, roles: Roles, drawn: Mapping[str, Pencil]
) -> dict[str, str]:
    """A note as a page's script draws its row, for a reader who sees it."""
    shown = shows_own_words(note, person, roles)
    pencil = drawn.get(note.by.key)
    return {
        "key": note.key,
        "item": note.item.key,
        "sort": note.sort,
        "state": note.state,
        "mark": "" if note.place_unknown else note.mark,
        "points": "" if note.place_unknown else _as_text(note.points),
        "label": f"{note.line} {note.by.initials}".strip(),
        "name": note.by.name,
        "hue": str(pencil.hue if pencil else 0),
        "line": pencil.line if pencil else "plain",
        "words": note.words if shown else note.passed_words or note.words,
    }


def _as_text(points: Iterable[Sequence[float]]) -> str:
    return " ".join(f"{x:.5f},{y:.5f}" for x, y in points)
