"""Asked and not asked: changes held against notes, plainly and from the tables."""

import pytest

from accounts.models import Person
from board.books.models import Item
from board.errors import NotFound, NotPermitted, NotUnderstood
from board.light_table.models import Comparison
from board.light_table.queries import held_against, recipe_of
from board.revisions.models import Revision
from board.slips.actions import notes, stages
from board.slips.actions.changes import name_change
from board.tissue.queries.asking import Ledger, ledger_for
from board.tissue.rules import NoteDraft, Region
from board.tissue.rules.asking import Ask, Became, Measured, asked_by, became
from tests import make
from tests.conftest import Cast
from tests.slips.conftest import Table, table  # noqa: F401 - a fixture

HEAD = Region(0.34, 0.30, 0.10, 0.20)


def _change(region: Region, place: int = 0) -> Measured:
    return Measured(place, region, region.area * 0.8, 6.0, 20.0)


@pytest.mark.parametrize(
    ("x", "asked"), [(0.34, True), (0.385, True), (0.395, False), (0.80, False)]
)
def test_a_change_is_asked_when_half_of_it_lies_in_a_notes_region(
    x: float,
    asked: bool,  # noqa: FBT001 - a column of the table
) -> None:
    change = _change(Region(x, 0.30, 0.10, 0.20))
    assert bool(asked_by(change, [Ask("a", HEAD)])) is asked


def test_a_note_without_a_place_asks_for_nothing() -> None:
    assert asked_by(_change(HEAD), [Ask("a", None)]) == ()
    assert became(Ask("a", None), [_change(HEAD)], colour=True).became is (
        Became.CANNOT_SAY
    )


def test_a_note_learns_how_much_of_its_place_changed() -> None:
    found = became(Ask("a", HEAD), [_change(HEAD)], colour=True)
    assert found.became is Became.CHANGED
    assert found.share == pytest.approx(0.8)
    assert became(Ask("a", HEAD), [], colour=True).became is Became.NOT_CHANGED


def test_between_drawn_and_painted_nobody_can_say() -> None:
    found = became(Ask("a", HEAD), [_change(HEAD)], colour=False)
    assert found.became is Became.CANNOT_SAY


def _compared(before: Revision, after: Revision, *regions: Region) -> Comparison:
    return Comparison.objects.create(
        before=before,
        after=after,
        recipe=recipe_of(before, after),
        work=Comparison.State.DONE,
        changes=[
            {
                "x": region.x,
                "y": region.y,
                "width": region.width,
                "height": region.height,
                "area": region.area * 0.8,
                "mean": 6.0,
                "peak": 20.0,
            }
            for region in regions
        ],
    )


@pytest.fixture
def answered(table: Table) -> tuple[Table, Ledger]:  # noqa: F811 - the fixture
    """The head was asked for and moved; the shawl changed and nobody asked."""
    cast, first = table.cast, table.revision
    asked = table.note(cast.art_director)
    table.issue()
    table.answer(asked)
    new = make.revision(of=table.item, by=cast.illustrator)
    _compared(first, new, HEAD, Region(0.7, 0.6, 0.1, 0.1))
    assert held_against(new) == first
    return table, ledger_for(cast.illustrator, first, new)


def test_the_rehearsal_tells_asked_from_not_asked(
    answered: tuple[Table, Ledger],
) -> None:
    _, ledger = answered
    assert [change.asked for change in ledger.changes] == [True, False]
    assert [one.outcome.became for one in ledger.notes] == [Became.CHANGED]
    assert [change.place for change in ledger.not_asked] == [1]


def test_the_artist_answers_an_unasked_change_with_a_word(
    answered: tuple[Table, Ledger],
) -> None:
    table, ledger = answered  # noqa: F811 - the fixture's own
    for _ in range(2):
        name_change(
            by=table.cast.illustrator,
            before=ledger.before,
            after=ledger.after,
            place=1,
            words="the shawl wanted it",
            event="word-event-1",
        )
    again = ledger_for(table.cast.illustrator, ledger.before, ledger.after)
    assert [word.words for word in again.changes[1].words] == ["the shawl wanted it"]
    assert again.changes[0].words == ()
    with pytest.raises(NotUnderstood):
        name_change(
            by=table.cast.illustrator,
            before=ledger.before,
            after=ledger.after,
            place=7,
            words="?",
            event=make.event(),
        )
    with pytest.raises(NotPermitted):
        name_change(
            by=table.cast.editor,
            before=ledger.before,
            after=ledger.after,
            place=1,
            words="?",
            event=make.event(),
        )


def test_the_artist_is_not_told_what_she_was_never_asked(
    answered: tuple[Table, Ledger],
) -> None:
    table, ledger = answered  # noqa: F811 - the fixture's own
    draft = NoteDraft("direction", "Darker.", "box", [[0.7, 0.6], [0.8, 0.7]])
    hidden = notes.raise_note(
        by=table.cast.editor, on=ledger.before, draft=draft, event=make.event()
    )
    hers = ledger_for(table.cast.illustrator, ledger.before, ledger.after)
    house = ledger_for(table.cast.editor, ledger.before, ledger.after)
    assert [change.asked for change in hers.changes] == [True, False]
    assert [change.asked for change in house.changes] == [True, True]
    with pytest.raises(NotFound):
        name_change(
            by=table.cast.illustrator,
            before=ledger.before,
            after=ledger.after,
            place=1,
            words="",
            note=hidden,
            event=make.event(),
        )


def test_a_note_raised_after_the_send_up_did_not_ask(
    answered: tuple[Table, Ledger],
) -> None:
    table, ledger = answered  # noqa: F811 - the fixture's own
    artist: Person = table.cast.illustrator
    stages.send_up(by=artist, revision=ledger.after, event=make.event())
    up = Revision.objects.get(pk=ledger.after.pk)
    table.revision = up
    draft = NoteDraft("direction", "Why?", "box", [[0.7, 0.6], [0.8, 0.7]])
    notes.raise_note(by=table.cast.editor, on=up, draft=draft, event=make.event())
    house = ledger_for(table.cast.editor, ledger.before, up)
    assert [change.asked for change in house.changes] == [True, False]


def test_without_a_finished_comparison_nothing_is_said(item: Item, cast: Cast) -> None:
    one = make.revision(of=item, by=cast.illustrator, number=1)
    other = make.revision(of=item, by=cast.illustrator, number=2)
    ledger = ledger_for(cast.editor, one, other)
    assert (ledger.ready, ledger.changes) == (False, ())
