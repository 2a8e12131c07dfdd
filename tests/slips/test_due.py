"""Due days: when a line is wanted, how it is said, and that time makes no initial."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client

from board.books.rules import Standing
from board.daybook.actions import replayed_at
from board.permits import Facet, Role
from board.slips.actions import notes
from board.slips.queries.lines import SlipLine, slip_lines
from board.slips.queries.slates import slate_of
from board.slips.queries.waiting import Waiting, waiting_for
from board.slips.rules.due import Spacing, artist_due, due_told, line_due
from board.slips.rules.stations import Asked, Line
from board.slips.rules.wants import Kind
from board.tissue.rules import NoteDraft
from tests import make
from tests.slips.conftest import BOX, Table

MARCH = date(2026, 3, 3)
USUAL = Spacing()


@pytest.mark.parametrize(
    ("due", "says"),
    [
        (date(2026, 3, 3), "due today"),
        (date(2026, 3, 4), "due tomorrow"),
        (date(2026, 3, 13), "due 13 March"),
        (date(2027, 1, 2), "due 2 January 2027"),
        (date(2026, 3, 2), "overdue by 1 day, since 2 March"),
        (date(2025, 12, 31), "overdue by 62 days, since 31 December 2025"),
    ],
)
def test_a_day_is_said_as_people_say_it_and_lateness_in_words(
    due: date, says: str
) -> None:
    assert due_told(due, MARCH) == says


def test_the_usual_days_lie_within_what_practice_gives() -> None:
    """Common practice, no source: house 7-10, author 4-7, artist 10-15, last 5-10."""
    words = Line(Role.AUTHOR, Facet.WORDS, Asked.MUST, 3)
    art = Line(Role.ART_DIRECTOR, Facet.ART, Asked.MUST, 2)
    assert 4 <= (line_due(words, MARCH, USUAL) - MARCH).days <= 7
    assert 7 <= (line_due(art, MARCH, USUAL) - MARCH).days <= 10
    assert 10 <= USUAL.artist <= 15
    assert 5 <= USUAL.corrections <= 10


def test_what_was_agreed_at_the_start_goes_first_but_not_once_it_came_back() -> None:
    at_table = Standing.AT_THE_TABLE
    agreed = date(2026, 3, 20)
    assert artist_due(at_table, MARCH, USUAL, agreed) == agreed
    assert artist_due(at_table, date(2026, 4, 1), USUAL, agreed) == date(2026, 4, 16)
    assert artist_due(Standing.RETURNED, MARCH, USUAL, agreed) == date(2026, 3, 18)
    assert artist_due(Standing.HUNG, MARCH, USUAL, agreed) is None


def _line(table: Table, who: str, facet: str) -> SlipLine:
    lines = slip_lines(table.item, getattr(table.cast, who))
    return next(line for line in lines if line.facet == facet)


def _words(table: Table) -> list[Waiting]:
    return waiting_for(table.cast.author, [table.book])


@pytest.mark.django_db
def test_the_author_is_due_from_the_day_the_house_was_done(table: Table) -> None:
    up = table.row.since
    assert up is not None
    assert _line(table, "author", "words").due == ""  # others go first
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")
    with replayed_at(up + timedelta(days=5)):
        table.initial(table.cast.art_director, "art")
        (waiting,) = _words(table)
    assert waiting.due == (up + timedelta(days=12)).date()
    assert waiting.want.kind is Kind.INITIAL
    assert waiting.want.last  # she alone keeps it from OK


@pytest.mark.django_db
def test_others_who_are_missing_are_not_the_last(table: Table) -> None:
    (waiting,) = waiting_for(table.cast.designer, [table.book])
    assert not waiting.want.last
    table.note(table.cast.author)  # waits with the editor
    found = waiting_for(table.cast.editor, [table.book])
    kinds = {one.want.kind for one in found}
    assert Kind.PASS_ON in kinds
    assert not any(one.want.last for one in found)


@pytest.mark.django_db
def test_a_day_that_passes_makes_no_initial(table: Table) -> None:
    table.book.author_approves = False
    table.book.save()
    table.item.book = table.book
    table.note(table.cast.production)  # keeps it from OK, is no line of the slip
    for who, facet in (
        ("designer", "fit"),
        ("editor", "story"),
        ("art_director", "art"),
    ):
        table.initial(getattr(table.cast, who), facet)
    with replayed_at(datetime(2036, 1, 1, tzinfo=UTC)):
        line = _line(table, "author", "words")
        assert line.due.startswith("no reply by ")  # honest, and no more than that
        slate = slate_of(table.item)
    assert slate is not None
    assert Facet.WORDS not in slate.live


@pytest.mark.django_db
def test_desk_wall_and_slip_say_when_it_is_due(client: Client, table: Table) -> None:
    up = table.row.since
    assert up is not None
    client.force_login(table.cast.designer)
    pages = ["/", f"/wall/{table.book.key}/", f"/rooms/{table.item.key}/"]
    with replayed_at(up + timedelta(days=9)):
        assert all("due tomorrow" in client.get(one).content.decode() for one in pages)
    with replayed_at(up + timedelta(days=13)):
        late = [client.get(one).content.decode() for one in pages]
    assert all("overdue by 3 days" in page for page in late)


@pytest.mark.django_db
def test_a_query_about_a_facet_waits_for_its_owner_alone(table: Table) -> None:
    draft = NoteDraft("query", "Does it fit in Welsh?", "box", BOX, facet="fit")
    by = table.cast.editor
    notes.raise_note(by=by, on=table.revision, draft=draft, event=make.event())
    asked = {
        role
        for role, who in table.cast.by_role().items()
        for one in waiting_for(who, [table.book])
        if one.want.kind is Kind.QUERY
    }
    assert asked == {Role.DESIGNER}
