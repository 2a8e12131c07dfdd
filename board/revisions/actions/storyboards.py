"""Writing storyboard sheets: taken in, the cut kept, each frame laid in its folder."""

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from accounts.models import Person
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.books.rules import Stage
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import WrongMove
from board.permits import Act, require
from board.repro import leases
from board.revisions.actions import PREPARE, enter_act
from board.revisions.models import Revision, StoryboardSheet, Upload
from board.revisions.queries.storyboards import why_not_fill
from board.revisions.rules.storyboards import Frame, require_frame, require_once

CUT = "board.revisions.tasks.cut_sheet"
CORNERS = Revision.Laid.CORNERS


def new_sheet(upload: Upload, book: Book) -> StoryboardSheet:
    """Make the sheet of a file taken in and ring for its cut."""
    sheet = StoryboardSheet.objects.create(
        book=book,
        by=upload.by,
        upload=upload,
        filename=upload.filename,
        sha256=upload.sha256,
        size=upload.length,
        sent_at=timezone.now(),
        step="received",
    )
    leases.ring(CUT, sheet)
    return sheet


@transaction.atomic
def keep_cut(sheet: StoryboardSheet, frames: Sequence[Frame], *, by: Person) -> None:
    """Keep a mended cut for later; nothing goes into a folder."""
    _lock(sheet, by)
    for frame in frames:
        require_frame(frame.corners)
    _keep(sheet, frames)


@transaction.atomic
def lay_out(
    sheet: StoryboardSheet, frames: Sequence[Frame], *, by: Person, event: str
) -> list[Revision]:
    """Put each frame that has an item into that item's folder, at thumbnails."""
    book = Book.objects.select_for_update().get(pk=sheet.book_id)
    require(Act.UPLOAD, roles_of(by, book))
    if happened_already(book.key, event):
        return list(sheet.revisions.all())
    _lock(sheet, by)
    require_once([frame for frame in frames if frame.item])
    for frame in frames:
        require_frame(frame.corners)
    items = {item.key: item for item in book.items.filter(set_aside=False)}
    for frame in frames:
        why = why_not_fill(sheet, items.get(frame.item)) if frame.item else ""
        if why:
            raise WrongMove(why)
    _keep(sheet, frames)
    sheet.laid_out_at = timezone.now()
    sheet.save(update_fields=["laid_out_at"])
    numbered = [(n, one) for n, one in enumerate(frames, start=1) if one.item]
    made = []
    for number, frame in numbered:
        made.append(_new_frame(sheet, items[frame.item], number, frame))
        # The first carries the page's event, so that a resend does nothing.
        enter_act(
            Happened.UPLOADED,
            made[-1],
            book,
            by=by,
            event="" if made[1:] else event,
            storyboard=sheet.key,
            frame=number,
            corners=frame.corners,
        )
        leases.ring(PREPARE, made[-1])
    return made


def _new_frame(
    sheet: StoryboardSheet, item: Item, number: int, frame: Frame
) -> Revision:
    return Revision.objects.create(
        item=item,
        stage=Stage.THUMBNAILS,
        by=sheet.by,
        storyboard=sheet,
        frame=number,
        filename=sheet.filename,
        sha256=sheet.sha256,
        size=sheet.size,
        uploaded_at=timezone.now(),
        declared=CORNERS,
        laid=CORNERS,  # by its word: the whole sheet would register on nothing
        points=[{"here": corner} for corner in frame.corners],
        step="received",
    )


@transaction.atomic
def put_sheet_away(sheet: StoryboardSheet, *, by: Person, away: bool) -> None:
    """Take a sheet off the list, or back onto it; what came of it stays."""
    require(Act.UPLOAD, roles_of(by, sheet.book))
    sheet.put_away_at = timezone.now() if away else None
    sheet.save(update_fields=["put_away_at"])


def _lock(sheet: StoryboardSheet, by: Person) -> None:
    require(Act.UPLOAD, roles_of(by, sheet.book))
    # Locked, so that a cut kept late never overwrites one that was laid out.
    sheet.refresh_from_db(from_queryset=StoryboardSheet.objects.select_for_update())
    if sheet.work != StoryboardSheet.State.DONE:
        raise WrongMove("The frames of this sheet are still being looked for.")
    if sheet.laid_out_at:
        raise WrongMove(
            "The frames of this sheet lie in their folders already. Mend a frame there "
            "by laying it again."
        )


def _keep(sheet: StoryboardSheet, frames: Sequence[Frame]) -> None:
    sheet.frames = [{"corners": one.corners, "item": one.item} for one in frames]
    sheet.save(update_fields=["frames"])
