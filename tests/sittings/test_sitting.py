"""From plan to minutes: what is frozen, who rules, what the minutes say."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from icalendar import Calendar
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from accounts.models import Person
from board.errors import NotPermitted, NotUnderstood, WrongMove
from board.readings.models import Reading
from board.sittings import actions
from board.sittings.actions import Plan, holding, reading
from board.sittings.models import Sitting
from board.sittings.queries import listed, newer_than_frozen
from board.sittings.queries.agenda import agenda_for, reasons_on
from board.sittings.queries.minutes import minutes_for, waits_for
from tests import make
from tests.sittings.conftest import STARTS, Sat

pytestmark = pytest.mark.django_db


def look(client: Client, sat: Sat, who: Person, name: str = "sitting") -> str:
    client.force_login(who)
    page = client.get(reverse(f"sittings:{name}", args=[sat.sitting.key]))
    assert page.status_code == 200
    return page.content.decode()


def test_a_round_goes_from_plan_to_minutes(sat: Sat, client: Client) -> None:
    head = sat.cast.art_director
    assert "To talk about" in look(client, sat, head)
    sat.open()
    assert "Decision on 8-9" in look(client, sat, head)
    sat.decide("OK as corrected", remark="Lift the hull.")
    sat.note(sat.cast.designer, "Clear the type.")
    sat.turn(sat.second)
    sat.close()
    minutes = look(client, sat, head)
    for words in ("OK as corrected", "Lift the hull.", "Clear the type."):
        assert words in minutes


def test_everybody_gets_a_letter_in_the_sittings_own_time(
    sat: Sat, django_capture_on_commit_callbacks: object
) -> None:
    plan = Plan(
        STARTS, "Australia/Hobart", 45, [sat.first], sat.cast.editor, "Bring tea."
    )
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        actions.change_sitting(
            by=sat.cast.editor, sitting=sat.sitting, plan=plan, event=make.event()
        )
    told = {letter.to[0]: letter.body for letter in mail.outbox}
    assert sat.cast.illustrator.email in told
    assert sat.cast.editor.email not in told
    # 14:00 UTC on 12 March is 01:00 on the 13th in Hobart (daylight time, UTC+11).
    assert "13 March 2026, 01:00" in told[sat.cast.author.email]


def test_the_calendar_entry_says_the_same_instant_in_its_own_zone(
    sat: Sat, client: Client
) -> None:
    """Held against RFC 5545: UID, DTSTAMP, DTSTART in a zone that is defined."""
    body = look(client, sat, sat.cast.author, "calendar")
    calendar = Calendar.from_ical(body)
    [entry] = calendar.walk("VEVENT")
    assert entry.decoded("dtstart") == STARTS
    assert entry["dtstart"].params["TZID"] == "Europe/Lisbon"
    assert [zone["TZID"] for zone in calendar.walk("VTIMEZONE")] == ["Europe/Lisbon"]
    assert entry.decoded("duration") == timedelta(minutes=60)
    assert {"UID", "DTSTAMP", "SEQUENCE"} <= set(entry)
    actions.call_off(by=sat.cast.editor, sitting=sat.sitting, event=make.event())
    gone = Calendar.from_ical(look(client, sat, sat.cast.author, "calendar"))
    [after] = gone.walk("VEVENT")
    assert after["STATUS"] == "CANCELLED"
    assert after["UID"] == entry["UID"]
    assert after.decoded("sequence") > entry.decoded("sequence")


def test_the_list_is_frozen_when_the_sitting_opens_and_does_not_shift(sat: Sat) -> None:
    sat.open()
    frozen = sat.sitting.items.get(item=sat.second).revision
    newer = make.revision(of=sat.second, by=sat.cast.illustrator, number=2)
    assert sat.sitting.items.get(item=sat.second).revision == frozen
    [(row, waits)] = newer_than_frozen(sat.sitting)
    assert (row.item, waits) == (sat.second, newer)


def test_one_sitting_a_book_is_open(sat: Sat) -> None:
    plan = Plan(STARTS, "UTC", 30, [sat.first], sat.cast.editor)
    other = actions.plan_sitting(
        by=sat.cast.editor, book=sat.book, plan=plan, event=make.event()
    )
    assert other.number == 2
    sat.open()
    with pytest.raises(WrongMove, match="Another sitting"):
        holding.open_sitting(by=sat.cast.editor, sitting=other, event=make.event())


def test_a_plan_that_makes_no_sense_is_refused_in_words(sat: Sat) -> None:
    for plan, error in (
        (Plan(STARTS, "UTC", 30, [], sat.cast.editor), NotUnderstood),
        (Plan(STARTS, "UTC", 2, [sat.first], sat.cast.editor), NotUnderstood),
        (Plan(STARTS, "UTC", 30, [sat.first], sat.cast.author), NotPermitted),
    ):
        with pytest.raises(error):
            actions.plan_sitting(
                by=sat.cast.editor, book=sat.book, plan=plan, event=make.event()
            )


def test_sending_an_act_twice_does_it_once(sat: Sat) -> None:
    sat.open()
    line = {"item": sat.first.key, "word": "hold"}
    sent = make.event()
    head = sat.cast.art_director
    one, two = (
        holding.decide(
            by=head, sitting=sat.sitting, line=line, ruled_by=head, event=sent
        )
        for _ in range(2)
    )
    assert one == two


def test_only_the_chair_writes_down_what_another_ruled(sat: Sat) -> None:
    sat.open()
    line = {"item": sat.first.key, "word": "hold"}
    editor, head = sat.cast.editor, sat.cast.art_director
    made = holding.decide(
        by=head, sitting=sat.sitting, line=line, ruled_by=editor, event=make.event()
    )
    assert (made.ruled_by, made.written_by) == (editor, head)
    with pytest.raises(NotPermitted, match="chair"):
        holding.decide(
            by=editor, sitting=sat.sitting, line=line, ruled_by=head, event=make.event()
        )
    with pytest.raises(NotPermitted, match="house"):
        holding.decide(
            by=head,
            sitting=sat.sitting,
            line=line,
            ruled_by=sat.cast.author,
            event=make.event(),
        )


def test_a_decision_is_no_initial(sat: Sat) -> None:
    sat.open()
    sat.decide("OK")
    assert not sat.first.slips.get().initials.exists()


def test_the_chair_is_handed_over_and_the_old_one_leads_no_more(sat: Sat) -> None:
    sat.open()
    hand = holding.hand_chair
    sat.sitting = hand(
        by=sat.cast.art_director,
        sitting=sat.sitting,
        to=sat.cast.editor,
        event=make.event(),
    )
    with pytest.raises(NotPermitted, match="has the chair"):
        sat.turn(sat.second)
    with pytest.raises(NotPermitted):
        hand(
            by=sat.cast.designer,
            sitting=sat.sitting,
            to=sat.cast.designer,
            event=make.event(),
        )


def test_the_agenda_is_reckoned_for_each_reader(sat: Sat) -> None:
    cast = sat.cast
    sat.note(cast.author, "Whose boat?", sort="query")
    sat.note(cast.art_director, "Come close.")
    sat.note(cast.designer, "Stay far.")  # on the same place: a pair to rule
    assert why(sat, cast.art_director) == [("1 clash",), ()]
    assert why(sat, cast.illustrator) == [(), ()]
    assert why(sat, cast.author) == [(), ()]
    sat.note(cast.production, "Does it bleed?", sort="query")
    assert why(sat, cast.art_director) == [("1 clash", "1 open query"), ()]


def why(sat: Sat, who: Person) -> list[tuple[str, ...]]:
    """What both items are talked about for, on the agenda and on the table alike."""
    agenda, rows = agenda_for(who, sat.sitting), listed(sat.sitting)
    lines = {line.item: line.reasons for line in (*agenda.talk, *agenda.quiet)}
    told = [lines[item] for item in (sat.first, sat.second)]
    for row in rows:
        assert reasons_on(who, sat.sitting, rows, row.item.key) == lines[row.item]
    return told


def test_the_next_agenda_says_what_changed_since_the_last_sitting(sat: Sat) -> None:
    sat.open()
    sat.close()
    sat.note(sat.cast.designer, "Clear the type.")
    plan = Plan(STARTS, "UTC", 30, [sat.first], sat.cast.editor)
    after = actions.plan_sitting(
        by=sat.cast.editor, book=sat.book, plan=plan, event=make.event()
    )
    [changed] = agenda_for(sat.cast.editor, after).changed
    assert (changed.label, changed.sentences) == ("8-9", ("1 note raised",))
    assert agenda_for(sat.cast.illustrator, after).changed == ()


def test_minutes_show_each_reader_only_what_they_may_know(sat: Sat) -> None:
    sat.open()
    sat.note(sat.cast.author, "Marzipan gull.")
    sat.decide("hold")
    sat.decide("return", remark="Not yet.")
    sat.close()
    for who, sees in ((sat.cast.editor, True), (sat.cast.illustrator, False)):
        first = minutes_for(who, sat.sitting).items[0]
        assert bool(first.notes) is sees
        assert [one.word for one in first.decisions] == ["hold", "return"]


def test_minutes_as_files_say_the_same(sat: Sat, client: Client) -> None:
    sat.open()
    sat.decide("return", remark="Lift *the* hull <b>.")
    sat.close()
    told = look(client, sat, sat.cast.editor, "minutes-markdown")
    assert r"Lift \*the\* hull \<b\>." in told
    body = client.get(reverse("sittings:minutes-pdf", args=[sat.sitting.key])).content
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(body)).pages)
    assert "Lift *the* hull <b>." in text
    assert "not initials" in text


def test_who_was_not_there_gets_what_waits_for_them(
    sat: Sat, django_capture_on_commit_callbacks: object
) -> None:
    sat.open()
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        sat.close()
    told = {letter.to[0]: letter.body for letter in mail.outbox}
    waits = waits_for(sat.cast.designer, sat.sitting)
    assert waits
    assert waits[0].why in told[sat.cast.designer.email]


def test_a_reading_is_begun_by_the_chair_and_kept_by_its_room(sat: Sat) -> None:
    sat.open()
    head = sat.cast.art_director
    begun = reading.begin(by=head, sitting=sat.sitting)
    assert begun.reading["by"] == head.key
    with pytest.raises(WrongMove, match="being read"):
        holding.hand_chair(
            by=head, sitting=sat.sitting, to=sat.cast.editor, event=make.event()
        )
    with pytest.raises(NotUnderstood, match="between"):  # too short to be one
        reading.end(by=head, sitting=sat.sitting, event=make.event())
    assert reading.end(by=head, sitting=sat.sitting, event="", keep=False) is None
    assert not Reading.objects.exists()


def test_no_reading_is_begun_while_a_newer_revision_waits(sat: Sat) -> None:
    sat.open()
    make.revision(of=sat.second, by=sat.cast.illustrator, number=2)
    with pytest.raises(WrongMove, match="10-11"):
        reading.begin(by=sat.cast.art_director, sitting=sat.sitting)


def test_a_sitting_is_taken_up_where_a_killed_server_left_it(sat: Sat) -> None:
    """State is in the database: another process finds item, look and seats."""
    sat.open()
    head = sat.cast.art_director
    sat.turn(sat.second)
    holding.look_at(by=head, sitting=sat.sitting, told={"view": "slide", "edge": 20})
    kept = Sitting.objects.get(pk=sat.sitting.pk)
    assert kept.now_item == sat.second
    assert (kept.look["view"], kept.look["edge"]) == ("slide", 20)


def test_the_queries_of_a_sittings_pages_do_not_grow_with_the_list(
    sat: Sat, client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client.force_login(sat.cast.designer)
    page = reverse("sittings:sitting", args=[sat.sitting.key])
    for item in sat.book.items.exclude(pk__in=[sat.first.pk, sat.second.pk])[:8]:
        sat.sitting.items.create(item=item)
    with django_assert_max_num_queries(45):
        client.get(page)
    sat.open()
    with django_assert_max_num_queries(80):
        client.get(page)


def test_a_time_that_the_clocks_leap_over_is_asked_again(
    sat: Sat, client: Client
) -> None:
    """On 29 March 2026 Lisbon's clocks leap from 01:00 to 02:00 (IANA tz database)."""
    client.force_login(sat.cast.editor)
    typed = {
        "day": "2026-03-29",
        "hour": "01:30",
        "time_zone": "Europe/Lisbon",
        "minutes": "60",
        "chair": sat.cast.editor.key,
        "items": [sat.first.key],
        "event": make.event(),
    }
    address = reverse("sittings:plan", args=[sat.book.key])
    page = client.post(address, typed)
    assert page.status_code == 422
    assert "leap over" in page.content.decode()
    assert client.post(address, typed | {"hour": "02:30"}).status_code == 302
