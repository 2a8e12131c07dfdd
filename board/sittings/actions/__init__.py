"""Planning a sitting, planning it anew, calling it off."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from accounts.actions import send
from accounts.models import Person
from board.books.actions import hand
from board.books.models import Book, Item
from board.books.queries import people_on, roles_of
from board.daybook.actions import Page, Writer, enter, this_moment
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import MAY, Act, require
from board.sittings.models import Sitting, SittingItem
from board.sittings.rules import Standing
from board.slips.actions.locked import event_of, lock_book

LEAST_MINUTES, MOST_MINUTES = 5, 480


@dataclass(frozen=True)
class Plan:
    """What a sitting is planned as; `starts_at` carries its zone."""

    starts_at: datetime
    time_zone: str
    minutes: int
    items: Collection[Item]
    chair: Person
    remark: str = ""


@transaction.atomic
def plan_sitting(*, by: Person, book: Book, plan: Plan, event: str) -> Sitting:
    """Plan a sitting and mail everybody on the book when it is."""
    require(Act.PLAN_SITTING, roles_of(by, book))
    book, sent = lock_book(book), event_of(by, event)
    before = Sitting.objects.filter(event=sent).first()
    if before:
        return before
    _require_plan(book, plan)
    last = book.sittings.order_by("-number").first()
    made = Sitting.objects.create(
        book=book,
        number=last.number + 1 if last else 1,
        planned_by=by,
        planned_at=this_moment(),
        event=sent,
        **_fields(plan),
    )
    _list(made, plan.items)
    writer = hand(by, book, Act.PLAN_SITTING)
    enter(Happened.SITTING_PLANNED, page_of(made), by=writer, event=sent)
    _mail(made, by, "is planned")
    return made


@transaction.atomic
def change_sitting(*, by: Person, sitting: Sitting, plan: Plan, event: str) -> Sitting:
    """Plan it anew; calendars that hold it take the higher sequence."""
    require(Act.PLAN_SITTING, roles_of(by, sitting.book))
    sitting = locked_sitting(sitting)
    _require_plan(sitting.book, plan)
    if sitting.standing is not Standing.PLANNED:
        raise WrongMove(f"This sitting is {sitting.standing}; plan another one.")
    for name, value in _fields(plan).items():
        setattr(sitting, name, value)
    sitting.version += 1
    sitting.planned_at = this_moment()
    sitting.save()
    sitting.items.all().delete()
    _list(sitting, plan.items)
    writer = hand(by, sitting.book, Act.PLAN_SITTING)
    sent = event_of(by, event)
    enter(Happened.SITTING_CHANGED, page_of(sitting), by=writer, event=sent)
    _mail(sitting, by, "is planned anew")
    return sitting


@transaction.atomic
def call_off(*, by: Person, sitting: Sitting, event: str) -> Sitting:
    """Call off a sitting that was not opened."""
    require(Act.PLAN_SITTING, roles_of(by, sitting.book))
    sitting = locked_sitting(sitting)
    if sitting.standing is Standing.CALLED_OFF:
        return sitting
    if sitting.standing is not Standing.PLANNED:
        raise WrongMove(f"This sitting is {sitting.standing}; it was held.")
    sitting.called_off_at = this_moment()
    sitting.version += 1
    sitting.save()
    writer = hand(by, sitting.book, Act.PLAN_SITTING)
    sent = event_of(by, event)
    enter(Happened.SITTING_CALLED_OFF, page_of(sitting), by=writer, event=sent)
    _mail(sitting, by, "is called off")
    return sitting


def locked_sitting(sitting: Sitting) -> Sitting:
    """The sitting as it stands now, with its book locked for this act."""
    book = lock_book(sitting.book)
    rows = Sitting.objects.select_related("chair", "now_item", "planned_by")
    fresh = rows.get(pk=sitting.pk)
    fresh.book = book
    return fresh


def page_of(
    sitting: Sitting, words: str = "", item: Item | None = None, **more: str
) -> Page:
    """Where an entry about a sitting belongs; `more` is kept beside its words."""
    told = f"sitting {sitting.number}" + (f": {words}" if words else "")
    return Page(
        sitting.book.key,
        item_key=item.key if item else "",
        about_key=sitting.key,
        details={"words": told, **more},
    )


def written_by(person: Person, role: str = "") -> Writer:
    """The person as the record writes them down."""
    return Writer(person.key, person.name, person.initials, role)


def require_chair(person: Person, book: Book) -> None:
    """Raise unless this person could chair a sitting on the book."""
    if MAY[Act.CHAIR_SITTING].isdisjoint(roles_of(person, book)):
        raise NotPermitted("Somebody of the house chairs a sitting; choose another.")


def _require_plan(book: Book, plan: Plan) -> None:
    require_chair(plan.chair, book)
    if not plan.items:
        raise NotUnderstood("Choose at least one item to look at.")
    if not LEAST_MINUTES <= plan.minutes <= MOST_MINUTES:
        raise NotUnderstood(
            f"A sitting takes {LEAST_MINUTES} to {MOST_MINUTES} minutes."
        )
    if any(item.book_id != book.pk for item in plan.items):
        raise NotUnderstood("An item of another book is on the list.")


def _fields(plan: Plan) -> dict[str, object]:
    return {
        "chair": plan.chair,
        "starts_at": plan.starts_at,
        "time_zone": plan.time_zone,
        "minutes": plan.minutes,
        "remark": plan.remark.strip()[:2000],
    }


def _list(sitting: Sitting, items: Collection[Item]) -> None:
    SittingItem.objects.bulk_create(
        SittingItem(sitting=sitting, item=item) for item in items
    )


def _mail(sitting: Sitting, by: Person, happened: str) -> None:
    """Tell everybody else on the book, in the zone the sitting was planned in."""
    local = sitting.starts_at.astimezone(ZoneInfo(sitting.time_zone))
    path = reverse("sittings:sitting", args=[sitting.key])
    for person in people_on(sitting.book):
        if person.pk != by.pk:
            send(
                to=person.email,
                subject=f"Sitting on {sitting.book.title} {happened}",
                words=(
                    f"Hello {person.name},\n\nsitting {sitting.number} on the picture "
                    f"book {sitting.book.title} {happened}: {local:%d %B %Y, %H:%M} "
                    f"({sitting.time_zone}), {sitting.minutes} minutes, chaired by "
                    f"{sitting.chair.name}.\n\nThe agenda, and an entry for your "
                    f"calendar:\n\n{settings.BOARD_ADDRESS}{path}\n"
                ),
            )
