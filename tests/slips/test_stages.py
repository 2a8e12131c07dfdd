"""Stages open in order, may be waived, and an OK is taken off on purpose."""

import pytest

from board.books.models import Item
from board.books.rules import Stage, Standing
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.slips.actions import holds, reopenings, rulings, stages
from board.slips.models import Initial
from board.slips.queries.lines import acts_on, slip_lines
from board.slips.queries.waiting import waiting_for
from board.tissue.models import Note
from tests import make
from tests.conftest import Cast
from tests.slips.conftest import Table


def _open(item: Item, cast: Cast, stage: str) -> None:
    stages.open_stage(by=cast.art_director, item=item, stage=stage, event=make.event())


def test_a_stage_opens_after_the_one_before_is_done(item: Item, cast: Cast) -> None:
    with pytest.raises(WrongMove, match="Thumbnails is shut"):
        _open(item, cast, "sketch")
    _open(item, cast, "thumbnails")
    assert item.stages.get(stage="thumbnails").standing == Standing.AT_THE_TABLE


def test_a_waived_stage_is_stepped_over(item: Item, cast: Cast) -> None:
    stages.waive_stage(
        by=cast.art_director,
        item=item,
        stage="thumbnails",
        reason="Drawn at size already.",
        event=make.event(),
    )
    _open(item, cast, "sketch")
    assert item.stages.get(stage="sketch").standing == Standing.AT_THE_TABLE


def test_waiving_needs_a_reason_and_the_art_director(item: Item, cast: Cast) -> None:
    with pytest.raises(NotUnderstood):
        stages.waive_stage(
            by=cast.art_director,
            item=item,
            stage="washes",
            reason=" ",
            event=make.event(),
        )
    with pytest.raises(NotPermitted):
        stages.waive_stage(
            by=cast.editor, item=item, stage="washes", reason="x", event=make.event()
        )


def test_what_was_sent_up_cannot_be_waived(table: Table) -> None:
    with pytest.raises(WrongMove):
        stages.waive_stage(
            by=table.cast.art_director,
            item=table.item,
            stage="sketch",
            reason="x",
            event=make.event(),
        )


def test_a_stage_opens_for_the_whole_book_at_once(table: Table) -> None:
    opened = stages.open_for_all(
        by=table.cast.art_director,
        book=table.book,
        stage="sketch",
        event=make.event(),
        reason="We start from sketches.",
    )
    assert opened == table.book.items.count() - 1


def test_a_suggestion_is_left_to_the_artist_when_the_next_stage_opens(
    table: Table,
) -> None:
    idea = table.note(table.cast.art_director, "suggestion", "Ledger paper?")
    table.all_initial()
    _open(table.item, table.cast, "washes")
    idea.refresh_from_db()
    assert idea.state == Note.State.LEFT


def _reopening(table: Table, who: str = "editor") -> None:
    reopenings.ask_reopening(
        by=getattr(table.cast, who),
        item=table.item,
        stage="sketch",
        draft={"code": "AA", "reason": "Fifty years.", "payer": "house"},
        event=make.event(),
    )


def test_a_reopening_needs_the_other_of_editor_and_art_director(table: Table) -> None:
    table.all_initial()
    _reopening(table)
    assert table.standing == Standing.OK
    asked = table.item.reopenings.get()
    with pytest.raises(WrongMove):
        reopenings.agree_reopening(
            by=table.cast.editor, reopening=asked, event=make.event()
        )
    reopenings.agree_reopening(
        by=table.cast.art_director, reopening=asked, event=make.event()
    )
    assert table.standing == Standing.AT_THE_TABLE
    assert not Initial.objects.filter(ended_at=None).exists()


def test_reopening_shuts_the_later_stages(table: Table) -> None:
    table.all_initial()
    _open(table.item, table.cast, "washes")
    _reopening(table, "publisher")
    assert table.row.stage == Stage.SKETCH
    assert table.item.stages.get(stage="washes").standing == Standing.SHUT


def test_a_hold_stops_initials_and_nothing_else(table: Table) -> None:
    held = holds.hold(
        by=table.cast.rights, item=table.item, reason="C07.", event=make.event()
    )
    with pytest.raises(WrongMove, match="Held by"):
        table.initial(table.cast.designer, "fit")
    table.note(table.cast.art_director)
    table.issue()
    assert table.standing == Standing.RETURNED
    with pytest.raises(NotPermitted):
        holds.release(by=table.cast.publisher, held=held, event=make.event())
    holds.release(by=table.cast.rights, held=held, event=make.event())
    assert not table.item.holds.filter(released_at=None).exists()


def test_ok_falls_due_when_the_hold_is_released(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    table.initial(table.cast.art_director, "art")
    held = holds.hold(
        by=table.cast.editor, item=table.item, reason="Wait.", event=make.event()
    )
    assert table.standing == Standing.HUNG
    holds.release(by=table.cast.publisher, held=held, event=make.event())
    table.initial(table.cast.author, "words")
    assert table.standing == Standing.OK


def test_a_clash_holds_the_sheet_until_one_of_the_two_is_closed(table: Table) -> None:
    near = table.note(table.cast.editor, words="Come in close.")
    far = table.note(table.cast.art_director, words="Stay far.")
    with pytest.raises(WrongMove, match="pair"):
        table.issue()
    rulings.rule_pair(
        by=table.cast.art_director,
        one=near,
        other=far,
        ruling="clash",
        event=make.event(),
    )
    with pytest.raises(WrongMove, match="clash"):
        table.issue()
    with pytest.raises(NotPermitted):
        rulings.merge(
            by=table.cast.art_director, note=near, into=far, event=make.event()
        )
    rulings.merge(by=table.cast.editor, note=near, into=far, event=make.event())
    table.issue()
    assert table.standing == Standing.RETURNED


def test_press_directions_are_stet_by_their_owner_only(table: Table) -> None:
    pink = table.note(table.cast.production, words="That pink will not print.")
    with pytest.raises(NotPermitted):
        rulings.stet(
            by=table.cast.art_director, note=pink, ruling="Fine.", event=make.event()
        )
    rulings.stet(
        by=table.cast.production, note=pink, ruling="Accept.", event=make.event()
    )
    pink.refresh_from_db()
    assert pink.state == Note.State.STET


def test_the_slip_tells_whose_turn_it_is(table: Table) -> None:
    lines = {line.facet: line for line in slip_lines(table.item, table.cast.editor)}
    assert lines["fit"].state == "may now"
    assert lines["art"].state == "after TD, TE"
    assert lines["story"].mine


def test_the_kind_of_an_initial_stays_in_the_house_until_the_slip_is_complete(
    table: Table,
) -> None:
    small = table.note(table.cast.designer)
    table.initial(table.cast.designer, "fit", small)
    house = {line.facet: line for line in slip_lines(table.item, table.cast.editor)}
    artist = {
        line.facet: line for line in slip_lines(table.item, table.cast.illustrator)
    }
    assert house["fit"].kind == "OK as corrected"
    assert artist["fit"].kind == ""
    assert artist["fit"].initials == "TD"


def test_the_desk_names_what_waits_for_whom(table: Table) -> None:
    assert [one.why for one in waiting_for(table.cast.designer)] == [
        "fit waits for your initial"
    ]
    assert waiting_for(table.cast.author) == []
    assert "initial:fit" in acts_on(table.item, table.cast.designer)
    assert "initial:words" not in acts_on(table.item, table.cast.author)
