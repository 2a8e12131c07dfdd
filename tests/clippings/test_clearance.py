"""Rights alone judges; what changes takes clearance off; uncleared blocks the OK."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from board.books.rules import Stage, Standing
from board.clippings.actions import Place, UseDraft, offer_use
from board.clippings.models import Judgement
from board.clippings.queries import items_using, source_list, told_of_book, uncleared
from board.daybook.models import Entry
from board.daybook.rules import Happened
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import Role
from board.revisions.models import Revision
from board.slips.actions import clearances
from board.slips.models import Initial
from board.slips.queries.record import daybook_for
from board.slips.queries.sentences import why_not_ok_told
from board.slips.queries.waiting import waiting_for
from tests import make
from tests.clippings.conftest import Desk

NOBODY_ELSE = [role for role in Role if role is not Role.RIGHTS]


@pytest.mark.parametrize("role", NOBODY_ELSE, ids=lambda role: role.value)
def test_nobody_but_rights_judges_a_source(desk: Desk, role: Role) -> None:
    source = desk.enter()
    with pytest.raises(NotPermitted):
        desk.judge(source, "granted", by=desk.cast.by_role()[role])
    source.refresh_from_db()
    assert source.clearance == "unknown"


@pytest.mark.parametrize("clearance", ["not needed", "refused", "replace"])
def test_a_judgement_that_needs_a_reason_names_it(desk: Desk, clearance: str) -> None:
    with pytest.raises(NotUnderstood, match="Say why"):
        desk.judge(desk.enter(), clearance, because=" ")


def test_the_same_judgement_twice_is_refused_and_a_resend_does_nothing(
    desk: Desk,
) -> None:
    source, sent = desk.enter(), make.event()
    for _ in range(2):
        clearances.change_clearance(
            by=desk.cast.rights,
            clipping=source,
            clearance="asked",
            because="",
            event=sent,
        )
    assert Judgement.objects.filter(clipping=source, clearance="asked").count() == 1
    source.refresh_from_db()
    with pytest.raises(WrongMove):
        desk.judge(source, "asked", because="")


def test_an_uncleared_source_blocks_the_ok_and_the_initial_at_final(desk: Desk) -> None:
    source = desk.enter()
    desk.judge(source, "asked", because="")
    desk.mark(source)
    desk.all_but_rights()
    with pytest.raises(WrongMove, match="Source C05 is asked since"):
        desk.initial("rights")
    assert any(
        words.startswith("Source C05 is asked since ")
        for words in why_not_ok_told(desk.item, desk.cast.illustrator)
    )
    assert desk.standing == Standing.HUNG
    desk.judge(source, "granted", because="World rights.")
    desk.initial("rights")
    assert desk.standing == Standing.OK


def test_a_source_used_nowhere_blocks_nothing(desk: Desk) -> None:
    desk.enter("C09")
    desk.all_but_rights()
    desk.initial("rights")
    assert desk.standing == Standing.OK


def test_a_changed_clearance_takes_off_clearance_and_nothing_else(desk: Desk) -> None:
    source = desk.enter()
    desk.judge(source, "granted", because="World rights.")
    desk.mark(source)
    desk.all_but_rights()
    desk.initial("rights")
    assert desk.standing == Standing.OK
    desk.judge(source, "refused", because="The holder wrote again.")
    assert desk.standing == Standing.HUNG
    assert desk.live() == {"fit", "story", "press", "art", "words"}


def test_a_changed_clearance_leaves_items_alone_that_do_not_use_it(desk: Desk) -> None:
    source = desk.enter()
    desk.all_but_rights()
    desk.initial("rights")
    desk.judge(source, "refused", because="No holder found.")
    assert desk.standing == Standing.OK
    assert "clearance" in desk.live()


def test_on_a_handed_over_item_it_is_recorded_and_nothing_moves(desk: Desk) -> None:
    source = desk.enter()
    desk.judge(source, "granted", because="World rights.")
    desk.mark(source)
    desk.all_but_rights()
    desk.initial("rights")
    make.at(desk.item, Stage.FINAL, Standing.HANDED_OVER)
    desk.judge(source, "refused", because="Taken back.")
    assert desk.standing == Standing.HANDED_OVER
    assert "clearance" in desk.live()
    told = daybook_for(desk.cast.publisher, desk.book)[-1].sentence
    assert "handed over already: 8-9" in told
    waiting = [one.why for one in waiting_for(desk.cast.publisher)]
    assert "handed over, and source C05 is refused" in waiting


def test_clearance_is_carried_when_the_source_list_is_the_same(desk: Desk) -> None:
    source = desk.enter()
    desk.judge(source, "not needed")
    desk.mark(source)
    first, given = desk.revision, desk.initial("rights")
    second = desk.send_up()
    carried = Initial.objects.get(slip__item=desk.item, ended_at=None)
    assert (carried.kind, carried.facet) == ("carried", "clearance")
    assert (carried.seen_sha256, carried.bound_sha256) == (first.sha256, second.sha256)
    assert carried.sources == given.sources != ""


def test_clearance_lapses_when_the_new_picture_has_another_source(desk: Desk) -> None:
    known, added = desk.enter("C07"), desk.enter("C07b")
    desk.judge(known, "not needed")
    use = desk.mark(known)
    desk.initial("rights")
    new = desk.upload()
    desk.mark(added, first=new)
    clearances.take_off_use(
        by=desk.cast.illustrator, use=use, gone_from=new, event=make.event()
    )
    assert desk.live() == {"clearance"}, "what lies in the folder moves nothing"
    assert source_list(desk.item) == (known.key,)
    desk.send_up(new)
    assert desk.live() == set()
    assert source_list(desk.item) == (added.key,)


def test_what_is_planned_in_the_folder_is_not_told_to_the_house(desk: Desk) -> None:
    source = desk.enter()
    desk.mark(source, first=desk.upload())
    entry = Entry.objects.filter(kind=Happened.SOURCE_PLANNED).get()
    assert entry.by_key == desk.cast.illustrator.key
    house = [told.sentence for told in daybook_for(desk.cast.rights, desk.book)]
    assert not any("in the folder" in words for words in house)


def test_a_source_found_on_the_current_picture_takes_the_ok_off(desk: Desk) -> None:
    desk.all_but_rights()
    desk.initial("rights")
    assert desk.standing == Standing.OK
    desk.mark(desk.enter())
    assert desk.standing == Standing.HUNG
    assert "clearance" not in desk.live()


def test_what_the_search_offers_counts_once_somebody_accepts(desk: Desk) -> None:
    source = desk.enter()
    outline = [[0.1, 0.1], [0.2, 0.1], [0.2, 0.2], [0.1, 0.2]]
    offers = [
        offer_use(source, desk.revision, Place(None, outline), likeness=0.8, recipe="r")
        for _ in range(2)
    ]
    assert offers[0] is not None
    assert offers[0] == offers[1]
    assert source_list(desk.item) == ()
    use = clearances.answer_offered(
        by=desk.cast.illustrator, offered=offers[0], accepted=True, event=make.event()
    )
    assert use is not None
    assert use.how == "found by search, accepted"
    assert source_list(desk.item) == (source.key,)


def test_two_sources_on_one_place_are_both_counted(desk: Desk) -> None:
    for code in ("C01", "C02"):
        desk.mark(desk.enter(code))
    told = told_of_book(desk.book)
    assert [round(one.cm2, 1) for one in told] == [12.9, 12.9]


def test_a_place_marked_later_is_that_of_the_use_known_before(desk: Desk) -> None:
    source = desk.enter()
    known = clearances.mark_use(
        by=desk.cast.illustrator,
        clipping=source,
        item=desk.item,
        draft=UseDraft(),
        event=make.event(),
    )
    assert desk.mark(source).pk == known.pk
    assert told_of_book(desk.book)[0].unplaced == 0
    desk.mark(source)
    assert round(told_of_book(desk.book)[0].cm2, 1) == 25.8


def test_a_use_on_another_books_item_is_refused(desk: Desk) -> None:
    other = make.book(title="Other").items.get(label="8-9")
    make.credit(on=other.book, who=desk.cast.illustrator, role=Role.ILLUSTRATOR)
    with pytest.raises(NotUnderstood, match="another book"):
        clearances.mark_use(
            by=desk.cast.illustrator,
            clipping=desk.enter(),
            item=other,
            draft=UseDraft(),
            event=make.event(),
        )


def test_asking_many_items_costs_as_many_queries_as_asking_one(desk: Desk) -> None:
    items = list(desk.book.items.all())
    for item in items[:6]:
        Revision.objects.filter(item=item).exists()
        clearances.mark_use(
            by=desk.cast.illustrator,
            clipping=desk.enter(f"C{item.position}"),
            item=item,
            draft=UseDraft(),
            event=make.event(),
        )
    with CaptureQueriesContext(
        connection,
    ) as one:
        uncleared(items[:1])
    with CaptureQueriesContext(connection) as all_of_them:
        assert len(uncleared(items)) == 6
    assert len(one) == len(all_of_them) == 2


def test_the_items_that_fall_are_those_of_current_pictures(desk: Desk) -> None:
    source = desk.enter()
    use = desk.mark(source)
    assert [item.label for item in items_using(source)] == ["8-9"]
    clearances.take_off_use(by=desk.cast.illustrator, use=use, event=make.event())
    assert items_using(source) == []
