"""The book slip, hand-over and recall (T16, T17)."""

from dataclasses import astuple
from datetime import datetime

from django.db import transaction

from accounts.models import Person
from board.books.actions import writer
from board.books.models import Book
from board.books.queries import items_of_book, roles_of
from board.books.queries.deputies import stands_for
from board.books.rules import Stage, Standing
from board.clippings.models import Judgement
from board.clippings.queries import source_list
from board.daybook.actions import THE_BOARD, Page, enter, know, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotFound, NotPermitted, NotUnderstood, WrongMove
from board.permits import Act, Role, require
from board.slips.actions.falling import fall
from board.slips.actions.locked import Locked, event_of, lock, lock_book, put
from board.slips.models import BookInitial, BookSlip
from board.slips.queries.book import listing_of, live_slip, why_not_open
from board.slips.queries.sentences import knows
from board.slips.rules.book import STATIONS, hash_of, still_missing
from board.slips.rules.moves import Move
from board.tissue.actions import end
from board.tissue.models import Note


@transaction.atomic
def initial_book(
    *,
    by: Person,
    book: Book,
    stage: str,
    list_hash: str,
    role: str,
    event: str,
) -> BookInitial:
    """Initial the ordered list that was shown, at one station of the book slip."""
    book = lock_book(book)
    sent = BookInitial.objects.filter(person=by, event=event_of(by, event)).first()
    if sent is not None:
        return sent
    station, principal = _station(book, by, role)
    reasons = why_not_open(book, Stage(stage), knows(by, book))
    if reasons:
        raise WrongMove(" ".join(reasons), *reasons)
    listing = listing_of(book, Stage(stage))
    if list_hash != hash_of(listing):
        raise WrongMove(
            "The list you were shown is not the list any more. Look at it again."
        )
    moment = this_moment()
    slip = live_slip(book, Stage(stage)) or _opened(book, stage, moment)
    made, new = BookInitial.objects.get_or_create(
        slip=slip,
        role=station,
        defaults={
            "person": by,
            "principal": principal,
            "event": event_of(by, event),
            "at": moment,
        },
    )
    if not new:
        raise WrongMove(f"The {station.value} line is initialled already.")
    page = Page(
        book.key,
        stage=stage,
        about_key=made.key,
        checksum=list_hash,
        details={"for": principal.key} if principal else {},
    )
    if principal:
        know(writer(principal))
    who = writer(by, station)
    enter(Happened.BOOK_INITIALLED, page, by=who, event=made.event, now=moment)
    given = [Role(one) for one in slip.initials.values_list("role", flat=True)]
    if not still_missing(given):
        slip.complete_at = moment
        slip.save()
        enter(Happened.PASSED_FOR_PRESS, page, by=THE_BOARD, now=moment)
    return made


def _station(book: Book, by: Person, role: str) -> tuple[Role, Person | None]:
    """The line that is initialled, and for whom when a deputy signs p.p."""
    roles = roles_of(by, book)
    if not roles:
        raise NotFound
    lent = {one.role: one.principal for one in stands_for(by, book)}
    require(Act.INITIAL_BOOK, roles | set(lent))
    if role not in [station.value for station in STATIONS]:
        raise NotUnderstood(
            "Editor, art director, production and publisher initial the book slip."
        )
    if Role(role) in roles:
        return Role(role), None
    if Role(role) in lent:
        return Role(role), lent[Role(role)]
    raise NotPermitted(f"The {role} line of the book slip is not yours.")


def _opened(book: Book, stage: str, moment: datetime) -> BookSlip:
    listing = listing_of(book, Stage(stage))
    slip = BookSlip.objects.create(
        book=book,
        stage=stage,
        list_hash=hash_of(listing),
        listing=[astuple(one) for one in listing],
        opened_at=moment,
    )
    page = Page(book.key, stage=stage, about_key=slip.key, checksum=slip.list_hash)
    enter(Happened.BOOK_SLIP_OPENED, page, by=THE_BOARD, now=moment)
    return slip


@transaction.atomic
def hand_over(*, by: Person, book: Book, event: str) -> int:
    """Lock the whole book for the printer, all items or none (T16)."""
    book = lock_book(book)
    if happened_already(book.key, event_of(by, event)):
        return 0
    require(Act.HAND_OVER, roles_of(by, book))
    slip = live_slip(book, Stage.FINAL)
    reasons = why_not_open(book, Stage.FINAL, knows(by, book))
    if slip is None or slip.complete_at is None:
        reasons.append("The book slip is not complete: not passed for press yet.")
    elif slip.list_hash != hash_of(listing_of(book, Stage.FINAL)):
        reasons.append("The book slip was initialled on another list.")
    if reasons:
        raise WrongMove(" ".join(reasons), *reasons)
    moment = this_moment()
    page = Page(book.key, stage=Stage.FINAL, checksum=slip.list_hash if slip else "")
    who = writer(by, Role.PRODUCTION)
    enter(Happened.HANDED_OVER, page, by=who, event=event_of(by, event), now=moment)
    items = list(items_of_book(book))
    for place, item in enumerate(items):
        locked = lock(item, by=by, event=f"{event[:36]}-{place}")
        put(locked, locked.open_row, Standing.HANDED_OVER)
        _leave_suggestions(locked)
    return len(items)


def _leave_suggestions(locked: Locked) -> None:
    waiting = Note.objects.filter(
        item=locked.item, sort=Note.Class.SUGGESTION, state=Note.State.OPEN
    )
    for note in waiting:
        end(note, Note.State.LEFT, by=None, now=locked.now)


def _turned_since(locked: Locked) -> str:
    """A source of the item that rights judged while it was handed over, in words."""
    keys = source_list(locked.item)
    judged = Judgement.objects.filter(
        clipping__book=locked.book,
        clipping__key__in=keys,
        at__gte=locked.open_row.since,
    ).select_related("clipping")
    codes = sorted({one.clipping.code for one in judged})
    return f"source {', '.join(codes)}" if codes else ""


@transaction.atomic
def recall(*, by: Person, book: Book, draft: dict[str, str], event: str) -> int:
    """Take a book back from the printer, with reason, cost and who told him (T17)."""
    book = lock_book(book)
    if happened_already(book.key, event_of(by, event)):
        return 0
    require(Act.RECALL, roles_of(by, book))
    told = {name: draft.get(name, "").strip() for name in ("reason", "told", "cost")}
    if not all(told.values()):
        raise NotUnderstood(
            "A recall says why, what it costs, and how the printer was told."
        )
    handed = [
        item
        for item in items_of_book(book)
        if any(row.standing == Standing.HANDED_OVER for row in item.stages.all())
    ]
    if not handed:
        raise WrongMove("Nothing of this book is handed over.")
    moment = this_moment()
    page = Page(book.key, stage=Stage.FINAL, details=told)
    who = writer(by, Role.PUBLISHER)
    enter(Happened.RECALLED, page, by=who, event=event_of(by, event), now=moment)
    for place, item in enumerate(handed):
        locked = lock(item, by=by, event=f"{event[:36]}-{place}")
        turned = _turned_since(locked)
        locked.move(Move.RECALL)
        if turned:
            fall(locked, "sources", f"{turned}, judged after the hand-over")
        elif locked.slate().missing():
            locked.move(Move.LOSE_A_LINE)
    for slip in BookSlip.objects.filter(book=book, lapsed_at=None):
        slip.lapsed_at, slip.lapsed_because = moment, "recalled"
        slip.save()
        enter(Happened.BOOK_SLIP_LAPSED, page, by=THE_BOARD, now=moment)
    return len(handed)
