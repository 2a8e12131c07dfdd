"""The reading within a sitting: begun by the chair, paged for all, kept by its room."""

from django.db import transaction

from accounts.models import Person
from board.books.queries import roles_of
from board.daybook.actions import this_moment
from board.errors import WrongMove
from board.permits import Act, require
from board.readings.actions import begin_reading, hold_reading
from board.readings.models import Reading
from board.sittings.actions.holding import chaired
from board.sittings.actions.telling import tell_look
from board.sittings.models import Sitting
from board.sittings.queries import newer_than_frozen
from board.sittings.rules import kept_look, read_look


@transaction.atomic
def begin(*, by: Person, sitting: Sitting) -> Sitting:
    """Start the clock and open the book at its first page on every screen."""
    sitting = chaired(sitting, by)
    require(Act.READ_THROUGH, roles_of(by, sitting.book))
    if sitting.reading:
        return sitting
    newer = newer_than_frozen(sitting)
    if newer:
        labels = ", ".join(row.item.label for row, _ in newer)
        raise WrongMove(
            f"A newer revision waits for {labels}, so a reading now would not be of "
            "this sitting's pictures. Read it from the Readings page afterwards."
        )
    word = begin_reading(by=by, book=sitting.book)
    sitting.reading = {"word": word, "by": by.key, "began": this_moment().timestamp()}
    sitting.look = read_look({"page": 0}, kept_look(sitting.look)).as_dict()
    sitting.looks += 1
    sitting.save()
    tell_look(sitting)
    return sitting


@transaction.atomic
def end(
    *, by: Person, sitting: Sitting, event: str, remark: str = "", keep: bool = True
) -> Reading | None:
    """Shut the book; the reading is recorded unless it was broken off."""
    sitting = chaired(sitting, by)
    if not sitting.reading:
        return None
    held = None
    if keep:
        held = hold_reading(
            by=by,
            book=sitting.book,
            word=sitting.reading["word"],
            event=event,
            remark=remark or f"Read aloud in sitting {sitting.number}.",
        )
    sitting.reading = {}
    sitting.looks += 1
    sitting.save()
    tell_look(sitting)
    return held
