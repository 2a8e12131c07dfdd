"""Plain writers of notes, replies and note sheets; only `slips` calls them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from accounts.models import Person
from board.books.models import Item
from board.books.rules.refitting import Refit
from board.permits import Facet, Role
from board.repro.scans import TakenIn
from board.revisions.models import Revision
from board.tissue.models import (
    ChangeWord,
    Note,
    NotePicture,
    NoteSheet,
    PairRuling,
    Reply,
    SheetLine,
)
from board.tissue.rules import (
    SHEET_ORDER,
    NoteDraft,
    Region,
    Sheet,
    clockwise,
    within,
)

State = Note.State


@dataclass(frozen=True)
class Raised:
    """Who raised a note, as what, about which facet, when."""

    by: Person
    role: Role
    facet: Facet
    event: str
    now: datetime


def write_note(
    *, raised: Raised, on: Revision, draft: NoteDraft, stage: str, state: Note.State
) -> Note:
    """Pin a note to a place; `stage` is the item's latest open one."""
    return Note.objects.create(
        item=on.item,
        stage=stage,
        raised_stage=stage,
        made_on=on,
        by=raised.by,
        role=raised.role,
        facet=raised.facet,
        sort=draft.sort,
        words=draft.words,
        mark=draft.mark,
        points=list(draft.points),
        state=state,
        raised_at=raised.now,
        event=raised.event,
    )


def write_reply(
    *, note: Note, by: Person, words: str, event: str, now: datetime
) -> Reply:
    return Reply.objects.create(note=note, by=by, words=words, event=event, at=now)


@dataclass(frozen=True)
class Given:
    """A picture as its sender gave it: its key, name, event and moment."""

    key: str
    filename: str
    event: str
    now: datetime


def write_reference(
    *, note: Note, by: Person, given: Given, taken: TakenIn
) -> NotePicture:
    """Put a picture that was taken in under a note."""
    return NotePicture.objects.create(
        key=given.key,
        note=note,
        filename=given.filename[-255:],
        sha256=taken.sha256,
        width=taken.width,
        height=taken.height,
        by=by,
        at=given.now,
        event=given.event,
    )


def rewrite(note: Note, draft: NoteDraft, *, now: datetime) -> None:
    """Change words, class and mark of a note that nobody was sent yet."""
    note.sort, note.words = draft.sort, draft.words
    note.mark, note.points = draft.mark, list(draft.points)
    note.edited_at = now
    keep(note)


def keep(note: Note) -> None:
    """Save a note as a newer version of itself."""
    note.version += 1
    note.save()


def end(
    note: Note, state: Note.State, *, by: Person | None, now: datetime, ruling: str = ""
) -> None:
    """Bring a note to one of its ends; its words stay readable with the ruling."""
    note.state, note.ended_by, note.ended_at = state, by, now
    note.ruling = ruling
    keep(note)


def write_answer(
    note: Note, *, answer: str, words: str, by: Person, now: datetime
) -> None:
    note.answer, note.answer_words = answer, words
    note.answered_by, note.answered_at = by, now
    keep(note)


def blank_answer(note: Note) -> None:
    """Put the line back: it wants an answer again."""
    note.answer, note.answer_words = Note.Answer.NONE, ""
    note.answered_by, note.answered_at = None, None
    keep(note)


def issue(
    item: Item,
    revision: Revision,
    notes: Sequence[Note],
    *,
    by: Person | None,
    now: datetime,
    short: bool = False,
) -> NoteSheet:
    """Freeze the notes as the item's next sheet, lines 1..k without gap."""
    last = item.note_sheets.order_by("-number").first()
    sheet = NoteSheet.objects.create(
        item=item,
        stage=revision.stage,
        number=last.number + 1 if last else 1,
        revision=revision,
        short=short,
        issued_by=by,
        issued_at=now,
    )
    ordered = sorted(
        notes, key=lambda note: (SHEET_ORDER[note.sort], clockwise(note.points))
    )
    for number, note in enumerate(ordered, start=1):
        SheetLine.objects.create(
            sheet=sheet,
            number=number,
            note=note,
            sort=note.sort,
            initials=note.by.initials,
            words=note.passed_words or note.words,
            points=note.points,
        )
        note.line = note.line or f"{sheet.number}.{number}"
        note.issued_at = note.issued_at or now
        keep(note)
    return sheet


def write_change_word(  # noqa: PLR0913 - a pair, a region and what is said
    *,
    pair: tuple[Revision, Revision],
    region: Region,
    words: str,
    note: Note | None,
    by: Person,
    event: str,
    now: datetime,
) -> ChangeWord:
    """Keep the artist's word on a measured change."""
    return ChangeWord.objects.create(
        before=pair[0],
        after=pair[1],
        region=[region.x, region.y, region.width, region.height],
        words=words,
        note=note,
        by=by,
        event=event,
        at=now,
    )


def refit_marks(item: Item, fit: Refit, sheet: Sheet) -> None:
    """Keep every mark on its place in the picture when the sheet becomes another.

    What falls off the bled sheet is drawn to its edge and marked "place unknown".
    """
    for note in Note.objects.filter(item=item).exclude(points=[]):
        note.points, lost = within(fit.places(note.points), sheet)
        note.place_unknown = note.place_unknown or lost
        keep(note)
    for word in ChangeWord.objects.filter(after__item=item):
        x, y, width, height = word.region
        (left, top), (right, bottom) = fit.places([[x, y], [x + width, y + height]])
        word.region = [left, top, right - left, bottom - top]
        word.save()


def write_ruling(
    one: Note, other: Note, ruling: PairRuling.Ruling, *, by: Person, now: datetime
) -> PairRuling:
    return PairRuling.objects.create(one=one, other=other, ruling=ruling, by=by, at=now)
