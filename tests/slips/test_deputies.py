"""Deputies sign p.p.: both names, some days, nobody's own art."""

from datetime import timedelta

import pytest

from accounts.models import Person
from board.books.actions.deputies import DeputyDraft, end_deputy, name_deputy
from board.books.models import Deputy
from board.books.queries.deputies import today
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.permits import Role
from board.slips.actions.initials import pull
from board.slips.queries.lines import slip_lines
from board.slips.queries.record import daybook_for
from board.slips.queries.waiting import waiting_for
from tests import make
from tests.slips.conftest import Table


def _name(
    table: Table,
    by: Person,
    person: Person,
    principal: Person,
    role: Role,
    days: int = 7,
) -> Deputy:
    first = today() if days > 0 else today() + timedelta(days=days)
    last = today() + timedelta(days=days if days > 0 else -1)
    draft = DeputyDraft(role, principal, person, first, last)
    return name_deputy(by=by, book=table.book, draft=draft, event=make.event())


def _lend_fit(table: Table, days: int = 7) -> Deputy:
    who = table.cast
    return _name(table, who.designer, who.production, who.designer, Role.DESIGNER, days)


def test_a_deputy_signs_with_both_names(table: Table) -> None:
    _lend_fit(table)
    given = table.initial(table.cast.production, "fit")
    assert (given.person, given.principal) == (
        table.cast.production,
        table.cast.designer,
    )
    line = next(
        one for one in slip_lines(table.item, table.cast.editor) if one.facet == "fit"
    )
    both = f"{table.cast.production.initials} p.p. {table.cast.designer.initials}"
    assert line.initials == both
    told = [one.sentence for one in daybook_for(table.cast.editor, table.book)]
    assert any("p.p. The designer" in one and "initialled" in one for one in told)


def test_it_waits_on_the_deputys_desk_too(table: Table) -> None:
    _lend_fit(table)
    waits = [one.why for one in waiting_for(table.cast.production)]
    whom = table.cast.designer.initials
    assert f"fit waits for your initial p.p. {whom}" in waits


def test_days_that_are_over_open_no_line(table: Table) -> None:
    _lend_fit(table, days=-3)
    with pytest.raises(NotPermitted):
        table.initial(table.cast.production, "fit")


def test_an_open_direction_of_the_principal_stops_the_deputy(table: Table) -> None:
    _lend_fit(table)
    table.note(table.cast.designer)
    with pytest.raises(WrongMove):
        table.initial(table.cast.production, "fit")


def test_the_principal_pulls_what_was_signed_for_her(table: Table) -> None:
    _lend_fit(table)
    given = table.initial(table.cast.production, "fit")
    pull(by=table.cast.designer, given=given, reason="No.", event=make.event())
    given.refresh_from_db()
    assert given.ended_at


def test_nobody_is_made_a_deputy_by_somebody_else(table: Table) -> None:
    who = table.cast
    with pytest.raises(NotPermitted):
        _name(table, who.editor, who.editor, who.designer, Role.DESIGNER)
    for role in (Role.RIGHTS, Role.AUTHOR):
        with pytest.raises(NotPermitted):
            _name(table, who.publisher, who.editor, who.by_role()[role], role)
    made = _name(table, who.publisher, who.editor, who.designer, Role.DESIGNER)
    assert made.named_by == who.publisher


def test_the_illustrator_is_nobodys_deputy(table: Table) -> None:
    who = table.cast
    with pytest.raises(NotUnderstood, match="illustrator"):
        _name(
            table,
            who.art_director,
            who.illustrator,
            who.art_director,
            Role.ART_DIRECTOR,
        )


def test_one_credited_as_illustrator_later_signs_no_more(table: Table) -> None:
    _lend_fit(table)
    make.credit(on=table.book, who=table.cast.production, role=Role.ILLUSTRATOR)
    with pytest.raises(NotPermitted):
        table.initial(table.cast.production, "fit")


def test_an_ended_deputy_signs_no_more_and_what_stands_stands(table: Table) -> None:
    deputy = _lend_fit(table)
    given = table.initial(table.cast.production, "fit")
    end_deputy(by=table.cast.designer, deputy=deputy, event=make.event())
    given.refresh_from_db()
    assert given.ended_at is None
    table.next_revision()
    with pytest.raises(NotPermitted):
        table.initial(table.cast.production, "fit")


def test_a_principal_whose_credit_ended_lends_nothing(table: Table) -> None:
    _lend_fit(table)
    table.book.credits.filter(person=table.cast.designer).update(ended_at=make.NOW)
    with pytest.raises(NotPermitted):
        table.initial(table.cast.production, "fit")
