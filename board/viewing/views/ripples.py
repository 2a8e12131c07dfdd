"""What an act would touch: foreseen for its form, held to when it is sent."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from accounts.models import Person
from board.books.models import Book, Credit, Item
from board.daybook.queries import happened_already
from board.errors import BoardError
from board.permits import Role
from board.slips.actions.locked import event_of
from board.slips.actions.reopenings import agree_reopening
from board.slips.actions.ripples import RippleDiffers, as_foreseen, foreseen
from board.slips.models import Reopening
from board.slips.rules.ripple import Ripple
from board.viewing.rules import new_event, ripple_told
from board.viewing.views.slip_acts import SlipAct

AGREEING = (Role.EDITOR, Role.ART_DIRECTOR, Role.PUBLISHER)
NOT_SAID = "not said yet"
Do = Callable[[], object]


@dataclass(frozen=True)
class Foreseen:
    """An act's ripple as its form shows it, with the digest that is sent back."""

    digest: str
    sentences: tuple[str, ...]
    agreed: bool = False


def foresee(act: SlipAct, by: Person, item: Item, subject: str) -> Foreseen | None:
    """What the act would touch now; nothing when it cannot be done at all."""

    def do() -> object:
        draft: dict[str, Any] = {  # as its form would tell it
            "words": NOT_SAID,
            "code": Reopening.Code.values[0],
            "payer": NOT_SAID,
            "event": new_event(),
        }
        return act.do(by, item, subject, draft)

    try:
        ripple = foreseen(item.book, do)
        whole = (
            foreseen(item.book, lambda: _agreed(do())) if ripple.is_still else ripple
        )
    except BoardError:
        return None
    told = told_ripple(item.book, whole)
    return Foreseen(ripple.digest, told.sentences, agreed=whole != ripple)


def _agreed(made: object) -> object:
    """Let a reopening that was only asked be agreed to, to see what comes of it."""
    if not isinstance(made, Reopening) or made.agreed_at:
        return made
    credits = Credit.objects.filter(
        book=made.item.book, role__in=AGREEING, ended_at=None
    )
    for credit in credits.exclude(person=made.asked_by).select_related("person"):
        try:
            return agree_reopening(by=credit.person, reopening=made, event=new_event())
        except BoardError:
            continue
    return made


def told_ripple(book: Book, ripple: Ripple) -> Foreseen:
    """A ripple in sentences with the items by their labels."""
    labels = dict(book.items.values_list("key", "label"))
    return Foreseen(ripple.digest, tuple(ripple_told(ripple, labels)))


def hold_to(digest: str, by: Person, book: Book, event: str, do: Do) -> object:
    """Do the act if it touches what was shown; sent again, it is done already."""
    try:
        return as_foreseen(book, digest, do)
    except RippleDiffers as differs:
        sent = happened_already(book.key, event_of(by, event))
        if sent and differs.ripple.is_still:
            return sent
        raise
