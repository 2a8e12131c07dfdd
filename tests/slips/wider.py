"""Acts of a walk that bear on the whole book, or on who signs."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from board.books.actions.deputies import DeputyDraft, end_deputy, name_deputy
from board.books.actions.formats import FormatDraft, StationsDraft
from board.books.models import Book, Item
from board.books.queries.deputies import today
from board.books.rules import Stage
from board.checks.actions import tell_over
from board.checks.models import CheckRun
from board.daybook.actions import replayed_at, this_moment
from board.permits import Role
from board.readings.actions import begin_reading, hold_reading
from board.slips.actions import books, clearances, formats, initials, rulings
from board.slips.actions.stations import set_stations
from board.slips.queries.book import listing_of, live_slip
from board.slips.queries.receipts import receipt_for
from board.slips.queries.slates import stage_of
from board.slips.rules.book import STATIONS, hash_of
from tests import make

if TYPE_CHECKING:
    from tests.slips.walk import Walk

FACETS = {
    Role.DESIGNER: "fit",
    Role.EDITOR: "story",
    Role.PRODUCTION: "press",
    Role.ART_DIRECTOR: "art",
    Role.AUTHOR: "words",
    Role.RIGHTS: "clearance",
}
OWNER = {facet: role for role, facet in FACETS.items()}


def another_format(walk: "Walk", item: Item) -> object:
    book = Book.objects.get(pk=walk.book.pk)
    was = FormatDraft.of(book)
    draft = walk.chance.choice(
        [
            replace(was, trim_width_mm=was.trim_width_mm + 2),
            replace(was, trim_width_mm=250.0),
            replace(was, bleed_mm=walk.chance.choice([3.0, 5.0])),
            replace(was, extent=walk.chance.choice([8, 12])),
            replace(was, extent=10),
        ]
    )
    return formats.change_format(
        by=walk.somebody(*[Role.PRODUCTION] * 4, Role.EDITOR),
        book=book,
        draft=draft,
        reasons={"reason": "x", "code": "PE", "payer": "printer"},
        version=book.version,
        event=make.event(),
    )


def other_stations(walk: "Walk", item: Item) -> object:
    book = Book.objects.get(pk=walk.book.pk)
    was = StationsDraft.of(book)
    draft = walk.chance.choice(
        [
            replace(was, author_approves=not was.author_approves),
            replace(was, stations={"press": ["not asked", "must"] * 2}),
            replace(was, stations={}),
            replace(was, stations={"art": ["told"] * 4}),
        ]
    )
    return set_stations(
        by=walk.somebody(Role.EDITOR, Role.PUBLISHER, Role.AUTHOR),
        book=book,
        draft=draft,
        version=book.version,
        event=make.event(),
    )


def deputy(walk: "Walk", item: Item) -> object:
    """Somebody names a deputy, who initials at once if she may."""
    role = walk.chance.choice(list(FACETS))
    principal, person = walk.people[role], walk.somebody()
    draft = DeputyDraft(role, principal, person, today(), today())
    made = name_deputy(by=principal, book=walk.book, draft=draft, event=make.event())
    try:
        initials.initial(
            by=person,
            item=item,
            facet=FACETS[role],
            receipt=receipt_for(person, item, walk.current(item)),
            event=make.event(),
        )
    finally:
        end_deputy(by=principal, deputy=made, event=make.event())
    return made


def clearance(walk: "Walk", item: Item) -> object:
    words = walk.chance.choice(["asked", "granted", "unknown"])
    return clearances.change_clearance(
        by=walk.somebody(*[Role.RIGHTS] * 3, Role.EDITOR),
        clipping=walk.book.clippings.get(),
        clearance=words,
        because="a letter",
        event=make.event(),
    )


def checks(walk: "Walk", item: Item) -> object:
    """The checks of the current final are asked for, or come to their end."""
    row = stage_of(item)
    picture = walk.current(item)
    if row is None or row.stage != Stage.FINAL:
        raise LookupError
    waiting = CheckRun.objects.filter(revision=picture, work="waiting").first()
    if waiting is None:
        asked = {"asked_at": this_moment(), "recipe": make.event()}
        return CheckRun.objects.create(revision=picture, **asked)
    found = {"check": "bleed", "level": "stop", "figure": "left edge"}
    waiting.work, waiting.findings = walk.chance.choice(
        [("done", []), ("done", []), ("done", [found]), ("failed", [])]
    )
    return _over(waiting)


def checks_pass(walk: "Walk", item: Item) -> object:
    """The checks that run on the item's current picture end well."""
    picture = walk.current(item, newest=True)
    waiting = CheckRun.objects.get(revision=picture, work="waiting")
    waiting.work, waiting.findings = "done", []
    return _over(waiting)


def _over(run: CheckRun) -> CheckRun:
    run.save()
    tell_over([run])
    return run


def rule_late(walk: "Walk", item: Item) -> object:
    return rulings.rule_late(
        by=walk.somebody(*[Role.ART_DIRECTOR] * 3, Role.EDITOR),
        note=walk.a_note(item, "late"),
        ruling=walk.chance.choice(["next stage", "next printing"]),
        words="later",
        event=make.event(),
    )


def late_arrival(walk: "Walk", item: Item) -> object:
    """An initial for the picture that a new one has just replaced, twice over."""
    role = walk.chance.choice(list(FACETS))
    who, event = walk.people[role], make.event()
    receipt = receipt_for(who, item, walk.current(item))
    walk.send_up(item)
    return initials.initial(
        by=who, item=item, facet=FACETS[role], receipt=receipt, event=event
    )


def read_through(walk: "Walk", item: Item) -> object:
    """A reading of five minutes, held just now."""
    by = walk.somebody(Role.EDITOR, Role.ART_DIRECTOR)
    with replayed_at(this_moment() - timedelta(minutes=5)):
        word = begin_reading(by=by, book=walk.book)
    return hold_reading(by=by, book=walk.book, word=word, event=make.event())


def sign_book(walk: "Walk", item: Item) -> object:
    """Somebody initials the list of the whole book, mostly where it is missing."""
    stage = walk.chance.choice([Stage.SKETCH, Stage.FINAL, Stage.FINAL])
    slip = live_slip(walk.book, stage)
    given = set(slip.initials.values_list("role", flat=True)) if slip else set()
    open_ones = [role for role in STATIONS if role not in given]
    role = walk.chance.choice(open_ones or list(STATIONS))
    return books.initial_book(
        by=walk.people[role],
        book=walk.book,
        stage=stage,
        list_hash=hash_of(listing_of(walk.book, stage)),
        role=role,
        event=make.event(),
    )


def hand_over(walk: "Walk", item: Item) -> object:
    by = walk.somebody(*[Role.PRODUCTION] * 4, Role.EDITOR)
    return books.hand_over(by=by, book=walk.book, event=make.event())


def recall(walk: "Walk", item: Item) -> object:
    by = walk.somebody(*[Role.PUBLISHER] * 4, Role.ART_DIRECTOR)
    draft = {"reason": "a comma", "told": "by telephone", "cost": "none yet"}
    return books.recall(by=by, book=walk.book, draft=draft, event=make.event())
