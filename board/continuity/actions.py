"""Writing the continuity sheet; nothing here moves a standing."""

from collections.abc import Mapping, Sequence

from django.db import transaction

from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book, Item
from board.books.queries import roles_of
from board.books.rules.refitting import Refit
from board.continuity.models import Thing, ThingPlace, Value
from board.continuity.rules import bounds
from board.daybook.actions import Page, enter, this_moment
from board.daybook.queries import happened_already
from board.daybook.rules import Happened
from board.errors import NotUnderstood, OffTheSheet
from board.permits import Act, require

KEEP = Act.KEEP_CONTINUITY
MOST_POINTS = 400


def _begin(by: Person, book: Book, event: str) -> tuple[Book, str]:
    """Ask permits, lock the book, and give the event's id as the record keeps it."""
    require(KEEP, roles_of(by, book))
    if not 8 <= len(event) <= 40:
        raise NotUnderstood("Every write carries an event id of 8 to 40 characters.")
    return Book.objects.select_for_update().get(pk=book.pk), f"{by.key}:{event}"


@transaction.atomic
def enter_thing(
    *, by: Person, book: Book, name: str, event: str, steady: bool = True
) -> Thing:
    """Begin to follow a thing through the book."""
    book, sent = _begin(by, book, event)
    before = happened_already(book.key, sent)
    if before:
        return Thing.objects.get(key=before.about_key)
    name = " ".join(name.split())[:120]
    if not name:
        raise NotUnderstood("Say what is followed: a coat, a strap, a count.")
    if Thing.objects.filter(book=book, name__iexact=name).exists():
        raise NotUnderstood(f"{name} is followed already.")
    made = Thing.objects.create(
        book=book, name=name, steady=steady, by=by, at=this_moment()
    )
    page = Page(book.key, about_key=made.key, details={"words": name})
    enter(Happened.THING_ENTERED, page, by=hand(by, book, KEEP), event=sent)
    return made


@transaction.atomic
def enter_values(
    *, by: Person, thing: Thing, values: Mapping[str, tuple[str, str]], event: str
) -> int:
    """Enter values by item key, each with its word of explanation; gives how many.

    Values that are the same as before are not entered again.
    """
    book, sent = _begin(by, thing.book, event)
    if happened_already(book.key, sent):
        return 0
    known = {row.item_id: row for row in thing.values.all()}
    changed = []
    for item in Item.objects.filter(book=book, key__in=list(values)):
        value, explained = (word.strip() for word in values[item.key])
        old = known.get(item.pk)
        if (value, explained) == ((old.value, old.explained) if old else ("", "")):
            continue
        Value.objects.update_or_create(
            thing=thing,
            item=item,
            defaults={
                "value": value[:120],
                "explained": explained[:300],
                "by": by,
                "at": this_moment(),
            },
        )
        changed.append(f"{item.label} {value}".strip())
    if changed:
        told = f"{thing.name}: {'; '.join(changed)}"
        page = Page(book.key, about_key=thing.key, details={"words": told})
        enter(Happened.VALUE_ENTERED, page, by=hand(by, book, KEEP), event=sent)
    return len(changed)


@transaction.atomic
def mark_place(
    *,
    by: Person,
    thing: Thing,
    item: Item,
    points: Sequence[Sequence[float]],
    event: str,
) -> ThingPlace:
    """Mark where the thing is seen on an item; a new place takes the old one's."""
    book, sent = _begin(by, thing.book, event)
    if item.book_id != book.pk:
        raise NotUnderstood("That item belongs to another book.")
    if happened_already(book.key, sent):
        return ThingPlace.objects.get(thing=thing, item=item)
    placed = _marked(points)
    made, _new = ThingPlace.objects.update_or_create(
        thing=thing,
        item=item,
        defaults={"points": placed, "by": by, "at": this_moment()},
    )
    page = Page(
        book.key, item_key=item.key, about_key=made.key, details={"words": thing.name}
    )
    enter(Happened.PLACE_MARKED, page, by=hand(by, book, KEEP), event=sent)
    return made


def _marked(points: Sequence[Sequence[float]]) -> list[list[float]]:
    """Two corners of a box or three and more of a loop, on the sheet and not too small."""
    try:
        placed = [[float(x), float(y)] for x, y in points]
    except (TypeError, ValueError):
        raise NotUnderstood("Those are no places on the sheet.") from None
    if not 2 <= len(placed) <= MOST_POINTS:
        raise NotUnderstood("A place is a box with two corners, or a loop of three.")
    if not all(-0.2 <= at <= 1.2 for corner in placed for at in corner):
        raise OffTheSheet
    left, top, right, bottom = bounds(placed)
    straight = len(placed) == 2 and placed != [[left, top], [right, bottom]]
    if straight or min(right - left, bottom - top) < 0.002:
        raise NotUnderstood("That place is too small. Draw it again.")
    return placed


def refit_places(item: Item, fit: Refit) -> None:
    """Keep marked things on their places in the picture when the sheet changes."""
    for place in ThingPlace.objects.filter(item=item):
        place.points = fit.places(place.points)
        place.save()
