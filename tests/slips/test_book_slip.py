"""The book slip: bound to a list, initialled by four, undone by any change."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from board.books.models import Book, Item, ItemStage
from board.books.rules import STAGES, Stage, Standing
from board.daybook.actions import replayed_at, this_moment
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import Role
from board.readings.actions import begin_reading, hold_reading
from board.slips.actions import books, clearances, initials, stages
from board.slips.actions.ripples import as_foreseen, foreseen
from board.slips.models import BookSlip, Initial
from board.slips.queries.book import book_standing
from board.slips.queries.receipts import receipt_for
from tests import make
from tests.conftest import Cast
from tests.slips.snapshots import make_source

Ready = Callable[[], None]


@pytest.fixture
def small(db: None) -> Book:
    return make.book(extent=8)


@pytest.fixture
def people(small: Book) -> Cast:
    who = {role.name.lower(): make.person(name=f"The {role.value}") for role in Role}
    for role in Role:
        make.credit(on=small, who=who[role.name.lower()], role=role)
    return Cast(**who, stranger=make.person())


def _finish(item: Item, people: Cast) -> None:
    """Bring an item to OK at final, its earlier stages waived."""
    for stage in STAGES[:-1]:
        stages.waive_stage(
            by=people.art_director,
            item=item,
            stage=stage,
            reason="x",
            event=make.event(),
        )
    stages.open_stage(
        by=people.art_director, item=item, stage="final", event=make.event()
    )
    new = make.revision(of=item, by=people.illustrator, stage=Stage.FINAL)
    stages.send_up(by=people.illustrator, revision=new, event=make.event())
    for who, facet in (
        (people.designer, "fit"),
        (people.editor, "story"),
        (people.production, "press"),
        (people.art_director, "art"),
        (people.author, "words"),
        (people.rights, "clearance"),
    ):
        initials.initial(
            by=who,
            item=item,
            facet=facet,
            receipt=receipt_for(who, item, new),
            event=make.event(),
        )


@pytest.fixture
def ready(small: Book, people: Cast) -> Book:
    for item in small.items.order_by("position"):
        _finish(item, people)
    return small


def _read(book: Book, people: Cast) -> None:
    with replayed_at(this_moment() - timedelta(minutes=5)):
        word = begin_reading(by=people.editor, book=book)
    hold_reading(by=people.editor, book=book, word=word, event=make.event())


def test_the_book_slip_waits_for_a_reading(ready: Book, people: Cast) -> None:
    told = book_standing(ready, Stage.FINAL, people.editor).why_not_open
    assert told == ("No reading was held on exactly these pictures and words.",)
    with pytest.raises(WrongMove, match="No reading"):
        _sign(ready, people, Role.EDITOR)


def _sign(book: Book, people: Cast, role: Role, list_hash: str = "") -> None:
    who = people.by_role()[role]
    shown = list_hash or book_standing(book, Stage.FINAL, who).list_hash
    books.initial_book(
        by=who,
        book=book,
        stage="final",
        list_hash=shown,
        role=role.value,
        event=make.event(),
    )


FOUR = (Role.PUBLISHER, Role.EDITOR, Role.PRODUCTION, Role.ART_DIRECTOR)


def test_the_book_slip_says_which_item_keeps_it_shut(small: Book, people: Cast) -> None:
    with pytest.raises(WrongMove, match="8: is not at final"):
        _sign(small, people, Role.EDITOR)


def test_four_initials_in_any_order_pass_it_for_press(
    ready: Book, people: Cast
) -> None:
    _read(ready, people)
    for role in FOUR:
        _sign(ready, people, role)
    assert book_standing(ready, Stage.FINAL, people.editor).complete
    assert BookSlip.objects.get().complete_at is not None


def test_another_list_than_the_one_shown_is_refused(ready: Book, people: Cast) -> None:
    _read(ready, people)
    with pytest.raises(WrongMove, match="not the list"):
        _sign(ready, people, Role.EDITOR, "0" * 64)


def test_only_its_stations_initial_the_book_slip(ready: Book, people: Cast) -> None:
    for who, role in ((people.designer, "designer"), (people.editor, "publisher")):
        with pytest.raises((NotPermitted, NotUnderstood)):
            books.initial_book(
                by=who,
                book=ready,
                stage="final",
                list_hash="0" * 64,
                role=role,
                event=make.event(),
            )


def test_a_pulled_initial_takes_the_book_slip_off(ready: Book, people: Cast) -> None:
    _read(ready, people)
    for role in FOUR:
        _sign(ready, people, role)
    given = Initial.objects.filter(facet="art", ended_at=None)[0]
    initials.pull(by=people.art_director, given=given, reason="x", event=make.event())
    slip = BookSlip.objects.get()
    assert slip.lapsed_at is not None
    assert not book_standing(ready, Stage.FINAL, people.editor).complete


def test_a_book_is_handed_over_whole_and_recalled_by_the_publisher(
    ready: Book, people: Cast
) -> None:
    _read(ready, people)
    with pytest.raises(WrongMove, match="not passed for press"):
        books.hand_over(by=people.production, book=ready, event=make.event())
    for role in FOUR:
        _sign(ready, people, role)
    count = books.hand_over(by=people.production, book=ready, event=make.event())
    assert count == ready.items.count()
    item = ready.items.first()
    assert item is not None
    assert item.stages.get(stage="final").standing == Standing.HANDED_OVER
    with pytest.raises(NotPermitted):
        books.recall(by=people.editor, book=ready, draft={}, event=make.event())
    draft = {"reason": "a comma", "told": "by telephone", "cost": "none yet"}
    books.recall(by=people.publisher, book=ready, draft=draft, event=make.event())
    assert item.stages.get(stage="final").standing == Standing.OK
    assert BookSlip.objects.get().lapsed_because == "recalled"


def _passed(book: Book, people: Cast) -> None:
    _read(book, people)
    for role in FOUR:
        _sign(book, people, role)
    books.hand_over(by=people.production, book=book, event=make.event())


def test_a_recall_touches_exactly_what_its_ripple_shows(
    ready: Book, people: Cast
) -> None:
    _passed(ready, people)
    draft = {"reason": "a comma", "told": "by telephone", "cost": "none yet"}

    def do() -> int:
        return books.recall(
            by=people.publisher, book=ready, draft=draft, event=make.event()
        )

    ripple = foreseen(ready, do)
    count = ready.items.count()
    assert [one[2:] for one in ripple.moves] == [("handed over", "OK")] * count
    assert not ripple.lapses
    assert ItemStage.objects.filter(standing=Standing.HANDED_OVER).count() == count
    assert as_foreseen(ready, ripple.digest, do) == count
    assert not ItemStage.objects.filter(standing=Standing.HANDED_OVER).exists()


def test_a_source_that_turned_at_the_printer_hangs_its_item_on_recall(
    ready: Book, people: Cast
) -> None:
    paper = make_source(ready, people.illustrator)
    item = ready.items.order_by("position")[1]

    def judge(words: str) -> None:
        clearances.change_clearance(
            by=people.rights,
            clipping=paper,
            clearance=words,
            because="a letter",
            event=make.event(),
        )

    judge("granted")
    shown = item.revisions.get(stage="final")
    initials.initial(
        by=people.rights,
        item=item,
        facet="clearance",
        receipt=receipt_for(people.rights, item, shown),
        event=make.event(),
    )
    _passed(ready, people)
    judge("refused")
    row = item.stages.get(stage="final")
    assert row.standing == Standing.HANDED_OVER
    draft = {"reason": "a refusal", "told": "by telephone", "cost": "none yet"}
    books.recall(by=people.publisher, book=ready, draft=draft, event=make.event())
    row.refresh_from_db()
    assert row.standing == Standing.HUNG
    live = Initial.objects.filter(slip__item=item, slip__stage="final", ended_at=None)
    assert not live.filter(facet="clearance").exists()
    others = ready.items.exclude(pk=item.pk)
    assert {one.stages.get(stage="final").standing for one in others} == {"OK"}
