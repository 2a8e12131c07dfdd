"""An item locked for one act: who acts, what stands, what is entered, what follows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from accounts.models import Person
from board.books.models import Book, Item, ItemStage
from board.books.queries import roles_of
from board.books.rules import Stage, Standing
from board.daybook.actions import THE_BOARD, Page, Writer, enter, this_moment
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotFound, NotUnderstood, WrongMove
from board.permits import Act, Facet, Role, require
from board.revisions.models import Revision
from board.revisions.queries import current
from board.slips.actions.lapsing import lapse_book_slips
from board.slips.models import Initial, Slip
from board.slips.queries.sentences import knows, told
from board.slips.queries.slates import open_slip, slate_of, stage_of
from board.slips.rules.guards import Reason, why_not_ok, why_not_ok_as_corrected
from board.slips.rules.moves import Move, after
from board.slips.rules.slate import Slate
from board.tissue.actions import issue
from board.tissue.models import Note


def event_of(by: Person, event: str) -> str:
    """The event id as the record keeps it: one person's ids never meet another's."""
    if not 8 <= len(event) <= 40:
        raise NotUnderstood("Every write carries an event id of 8 to 40 characters.")
    return f"{by.key}:{event}"


def lock_book(book: Book) -> Book:
    """Hold the book's row: acts on one book happen one after another."""
    return Book.objects.select_for_update().get(pk=book.pk)


@dataclass
class Locked:
    """One act on one item, inside the caller's transaction."""

    item: Item
    by: Person
    roles: frozenset[Role]
    event: str
    now: datetime
    row: ItemStage | None
    role: str = ""
    _entered: bool = field(default=False, repr=False)

    @property
    def book(self) -> Book:
        return self.item.book

    @property
    def stage(self) -> Stage:
        return Stage(self.open_row.stage)

    @property
    def open_row(self) -> ItemStage:
        if self.row is None:
            raise WrongMove("No stage is open here yet. The art director opens one.")
        return self.row

    @property
    def standing(self) -> Standing:
        return Standing(self.row.standing) if self.row else Standing.SHUT

    def require(self, act: Act) -> None:
        require(act, self.roles)

    def slate(self) -> Slate:
        found = slate_of(self.item)
        if found is None:
            raise WrongMove("No stage is open here yet. The art director opens one.")
        return found

    def stop_for(self, reasons: Sequence[Reason]) -> None:
        """Raise every unmet guard, as far as this person may know them."""
        if reasons:
            to = knows(self.by, self.book)
            words = told(reasons, self.slate(), self.row, to)
            raise WrongMove(" ".join(words), *words)

    def current(self) -> Revision | None:
        return current(self.item, self.stage)

    def page(self, stage: str = "", **more: Any) -> Page:
        """Where an entry belongs; `more` are the other fields of a Page."""
        shown = stage or (self.row.stage if self.row else "")
        return Page(self.book.key, item_key=self.item.key, stage=shown, **more)

    def page_of(self, note: Note, **details: str) -> Page:
        """Where an entry about a note belongs."""
        return self.page(
            about_key=note.key,
            checksum=note.made_on.sha256,
            details={"class": note.sort, "writer": note.by.key, **details},
        )

    def enter(self, happened: Happened, page: Page | None = None) -> Entry:
        """Enter it; the first entry of an act carries the client's event id."""
        event, self._entered = ("" if self._entered else self.event), True
        writer = Writer(self.by.key, self.by.name, self.by.initials, self.role)
        return enter(
            happened, page or self.page(), by=writer, event=event, now=self.now
        )

    def follows(self, happened: Happened, page: Page) -> None:
        """Enter what the board itself did because of the act."""
        enter(happened, page, by=THE_BOARD, now=self.now)

    def move(self, move: Move) -> None:
        """Take the move from the table; a standing changes nowhere else."""
        row = self.open_row
        to = after(Standing(row.standing), move)
        if to is None:
            raise WrongMove(f"The item is {row.standing}: it cannot {move.value} now.")
        put(self, row, to)

    def lapse(self, facets: Iterable[Facet], because: str, *, stage: str = "") -> None:
        """End the live initials of these facets at a stage."""
        live = Initial.objects.filter(
            slip__item=self.item,
            slip__stage=stage or self.stage,
            facet__in=list(facets),
            ended_at=None,
        )
        for initial in live.select_related("slip", "person"):
            end_initial(self, initial, because)

    def close_slip(self) -> None:
        Slip.objects.filter(item=self.item, stage=self.stage, closed_at=None).update(
            closed_at=self.now
        )

    def open_slip(self, revision: Revision, *, left: Standing) -> Slip:
        return Slip.objects.create(
            item=self.item,
            stage=self.stage,
            revision=revision,
            opened_at=self.now,
            left=left.value,
        )

    def slip(self) -> Slip:
        found = open_slip(self.item, self.stage)
        if found is None:
            raise WrongMove("No slip is open here: nothing was sent up yet.")
        return found

    def settle(self) -> None:
        """Let T9 or T10 follow where nothing is missing any more."""
        if self.row is None or after(self.standing, Move.COME_OK) is None:
            return
        slate = self.slate()
        if not why_not_ok(slate):
            self.move(Move.COME_OK)
        elif self.standing is Standing.HUNG and not why_not_ok_as_corrected(slate):
            self.move(Move.COME_OK_AS_CORRECTED)
            self._short_sheet(slate.listed)

    def _short_sheet(self, listed: frozenset[str]) -> None:
        """Send the listed lines out by themselves."""
        revision = self.current()
        notes = list(Note.objects.filter(key__in=listed).select_related("by"))
        if revision is None or not notes:
            return
        sheet = issue(self.item, revision, notes, by=None, now=self.now, short=True)
        page = self.page(about_key=sheet.key, details={"sheet": sheet.number})
        self.follows(Happened.SHEET_ISSUED, page)


def lock(item: Item, *, by: Person, event: str, role: str = "") -> Locked:
    """Lock the item's book for one act by this person; 404 without a credit."""
    fresh = _locked_item(item)
    roles = roles_of(by, fresh.book)
    if not roles:
        raise NotFound
    if fresh.set_aside:
        raise WrongMove(
            f"{fresh.label} is set aside: the book's extent leaves no pages for it. It "
            "is kept as it is until production gives it pages again."
        )
    return Locked(
        item=fresh,
        by=by,
        roles=roles,
        event=event_of(by, event),
        now=this_moment(),
        row=stage_of(fresh),
        role=role,
    )


def lock_for_the_board(item: Item, *, because_of: Person) -> Locked:
    """Lock the item for what follows without anybody's act; it only settles."""
    fresh = _locked_item(item)
    row = None if fresh.set_aside else stage_of(fresh)
    return Locked(fresh, because_of, frozenset(), "", this_moment(), row)


def _locked_item(item: Item) -> Item:
    book = lock_book(item.book)
    fresh = Item.objects.prefetch_related("stages").get(pk=item.pk, book=book)
    fresh.book = book
    return fresh


def put(locked: Locked, row: ItemStage, to: Standing) -> None:
    """Write a standing and enter the change."""
    before, row.standing = row.standing, to
    row.since = locked.now
    row.moves += 1
    row.save()
    if before != to:
        details = {"from": before, "to": to.value}
        page = locked.page(row.stage, details=details)
        locked.follows(Happened.STANDING_MOVED, page)
        if before in {Standing.OK, Standing.OK_AS_CORRECTED}:
            because = f"{locked.item.label} is {to.value}"
            lapse_book_slips(locked.book, because=because, now=locked.now)


def end_initial(locked: Locked, initial: Initial, because: str) -> None:
    """Take a live initial off; it never comes back."""
    initial.ended_at, initial.ended_because = locked.now, because[:200]
    initial.save()
    page = locked.page(
        initial.slip.stage,
        about_key=initial.key,
        checksum=initial.bound_sha256,
        text_version=initial.text_version,
        details={
            "facet": initial.facet,
            "whose": initial.person.key,
            "because": initial.ended_because,
        },
    )
    locked.follows(Happened.INITIAL_LAPSED, page)


def carry(
    locked: Locked, old: Initial, slip: Slip, *, event: str, justified: str = ""
) -> Initial:
    """Keep an initial on a new slip; the picture seen stays the first one."""
    kept = Initial.objects.create(
        slip=slip,
        facet=old.facet,
        role=old.role,
        person=old.person,
        principal=old.principal,
        kind=Initial.Kind.CARRIED,
        seen_sha256=old.seen_sha256,
        bound_sha256=slip.revision.sha256,
        text_version=old.text_version,
        receipt=old.receipt,
        sources=old.sources,
        justified=justified,
        event=event,
        at=locked.now,
    )
    page = locked.page(
        about_key=kept.key,
        checksum=kept.bound_sha256,
        text_version=kept.text_version,
        details={"facet": kept.facet, "whose": kept.person.key},
    )
    locked.follows(Happened.INITIAL_CARRIED, page)
    return kept
