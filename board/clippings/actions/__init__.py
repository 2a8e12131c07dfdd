"""Plain writers of clearance and uses; `slips` calls them and settles what follows."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Q

from accounts.models import Person
from board.books.models import Item
from board.books.rules.refitting import Refit
from board.clippings.models import (
    Clipping,
    ClippingPhoto,
    Judgement,
    OfferedUse,
    Use,
)
from board.clippings.rules import (
    HOW,
    WITH_REASON,
    Clearance,
    box_of,
    outline,
    overlap,
)
from board.daybook.actions import this_moment
from board.errors import NotUnderstood, WrongMove
from board.revisions.models import Revision

__all__ = [
    "Place",
    "UseDraft",
    "answer_offer",
    "end_use",
    "offer_use",
    "refit_uses",
    "write_clearance",
    "write_use",
]

SAME = 0.5  # of the smaller box: then two found places are one


@dataclass(frozen=True)
class UseDraft:
    """A use as it is entered; without a mark its place is not known yet."""

    mark: str = ""
    points: Sequence[Sequence[float]] = field(default_factory=list)
    first_shown: Revision | None = None
    how: str = HOW[0]


def write_clearance(
    clipping: Clipping, clearance: str, because: str, *, by: Person, now: datetime
) -> Judgement:
    """Write who judged what and why; the caller asked permits and settles.

    Raises
    ------
    NotUnderstood, WrongMove
        for an unknown word, a missing reason, or when nothing differs.
    """
    if clearance not in list(Clearance):
        raise NotUnderstood(f"A clearance is one of: {', '.join(Clearance)}.")
    because = because.strip()
    if Clearance(clearance) in WITH_REASON and not because:
        raise NotUnderstood(f"Say why the source is {clearance}; the log keeps it.")
    if (clearance, because) == (clipping.clearance, clipping.because.strip()):
        raise WrongMove(f"{clipping.code} is {clearance} already.")
    if clearance != clipping.clearance:
        clipping.clearance_since = now
    clipping.clearance, clipping.because = clearance, because
    clipping.version += 1
    clipping.save()
    return Judgement.objects.create(
        clipping=clipping, clearance=clearance, because=because, by=by, at=now
    )


def write_use(
    clipping: Clipping,
    item: Item,
    draft: UseDraft,
    *,
    by: Person,
    event: str,
    now: datetime,
) -> Use:
    """Write where a source lies; the caller asked permits and settles.

    A place marked now is taken for one that was known only by its item before.
    """
    if clipping.book_id != item.book_id:
        raise NotUnderstood("That source belongs to another book.")
    if draft.first_shown and draft.first_shown.item_id != item.pk:
        raise NotUnderstood("That picture belongs to another item.")
    points = [list(point) for point in draft.points]
    outline(draft.mark, points)
    unmarked = Use.objects.filter(
        clipping=clipping, item=item, mark="", gone_from=None, taken_off_at=None
    )
    begun = Q(first_shown=draft.first_shown)
    if draft.how != HOW[0]:
        begun |= Q(first_shown=None)  # it was known to be there, only not where
    known = unmarked.filter(begun).first()
    use = known or Use(clipping=clipping, item=item, first_shown=draft.first_shown)
    use.mark, use.points, use.how = draft.mark, points, draft.how
    use.by, use.at, use.event = by, now, event
    use.save()
    return use


def end_use(use: Use, *, gone_from: Revision | None, now: datetime) -> Use:
    """Say from which picture on it is gone, or that it was entered by mistake."""
    if gone_from is None:
        use.taken_off_at = now
    elif gone_from.item_id != use.item_id:
        raise NotUnderstood("That picture belongs to another item.")
    else:
        use.gone_from = gone_from
    use.save()
    return use


@dataclass(frozen=True)
class Place:
    """Where a piece of a photograph was found: outlines on the sheet and on it."""

    photo: ClippingPhoto | None
    points: Sequence[Sequence[float]]
    on_photo: Sequence[Sequence[float]] = field(default_factory=list)


def offer_use(
    clipping: Clipping,
    revision: Revision,
    place: Place,
    *,
    likeness: float,
    recipe: str,
) -> OfferedUse | None:
    """Offer a place that the search found; somebody accepts it or not.

    `likeness` is 0 to 1. Offering the same place again changes nothing, and what was
    declined on this picture is not offered again: then the answer is None.
    """
    outline("loop", place.points)
    placed = [[round(x, 4), round(y, 4)] for x, y in place.points]
    told = OfferedUse.objects.filter(clipping=clipping, revision=revision)
    if told.filter(accepted=False).exists():
        return None
    found = box_of(outline("loop", placed))
    for known in told.filter(recipe=recipe):
        if overlap(found, box_of(outline("loop", known.points))) >= SAME:
            return known
    return OfferedUse.objects.create(
        clipping=clipping,
        revision=revision,
        photo=place.photo,
        points=placed,
        on_photo=[list(point) for point in place.on_photo],
        likeness=likeness,
        recipe=recipe,
        at=this_moment(),
    )


def answer_offer(
    offered: OfferedUse, *, accepted: bool, by: Person, now: datetime
) -> OfferedUse:
    """Keep what somebody said to an offered place."""
    if offered.answered_at:
        raise WrongMove("Somebody answered that already. Load the page again.")
    offered.accepted, offered.answered_by, offered.answered_at = accepted, by, now
    offered.save()
    return offered


def refit_uses(item: Item, fit: Refit) -> None:
    """Keep sources on their places in the picture when the sheet becomes another."""
    for use in Use.objects.filter(item=item).exclude(points=[]):
        use.points = fit.places(use.points)
        use.save()
    for offered in OfferedUse.objects.filter(revision__item=item, answered_at=None):
        offered.points = fit.places(offered.points)
        offered.save()
