"""Mails go out once, at once or by digest, to a real mail server that may refuse."""

from datetime import UTC, datetime, timedelta
from email.message import EmailMessage

import pytest
from django.db import IntegrityError, transaction

from accounts.models import Person
from board.books.actions.credits import end_credit
from board.books.rules import Stage, Standing
from board.daybook.queries import entries_of
from board.post.actions import look_round
from board.post.actions.sending import send_due
from board.post.actions.wishes import keep_wishes, stop_mails
from board.post.models import Asked, Outgoing, Reached, Wishes
from board.post.rules import (
    BACKOFF_MIN,
    TOLD,
    When,
    again_in,
    digest_day,
    is_final_refusal,
)
from board.slips.actions import notes
from board.slips.rules.wants import Kind
from tests import make
from tests.post.conftest import Table, carry, later
from tests.post.sink import Sink

pytestmark = pytest.mark.django_db(transaction=False)


def to(sink: Sink, who: Person) -> list[EmailMessage]:
    return [mail for mail in sink.taken if mail["To"] == who.email]


def text(mail: EmailMessage) -> str:
    body = mail.get_body(("plain",))
    assert body is not None
    return str(body.get_content())


def in_art_last(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    table.initial(table.cast.editor, "story")


@pytest.fixture(autouse=True)
def learnt(table: Table, sink: Sink) -> None:
    """The board has looked at the book once; nobody is up for a digest."""
    people = table.cast.by_role().values()
    Wishes.objects.bulk_create(Wishes(person=one, digest=False) for one in people)
    last = entries_of(table.book.key).last()
    assert last is not None
    Reached.objects.create(book=table.book, number=last.number)


def test_every_kind_of_waiting_has_its_place_in_the_table() -> None:
    assert set(TOLD) == set(Kind)
    assert {kind for kind, when in TOLD.items() if when is When.AT_ONCE} == {
        *(Kind.LINES, Kind.CORRECTIONS, Kind.PASS_ON, Kind.QUERY)
    }


def test_whose_line_is_the_last_is_mailed_once_with_a_link_to_the_item(
    table: Table, sink: Sink
) -> None:
    in_art_last(table)
    carry(later(1))
    table.initial(table.cast.art_director, "art")
    carry(later(2))
    assert sink.taken == []  # people correct themselves for some minutes
    carry(later(8))
    carry(later(9))
    (mail,) = to(sink, table.cast.author)
    assert sink.taken == [mail]
    assert "words waits for your initial" in str(mail["Subject"])
    assert f"next=%2Frooms%2F{table.item.key}%2Fletter%2F" in text(mail)


def test_what_waited_before_the_board_could_mail_is_not_mailed_all_at_once(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    Reached.objects.all().delete()
    carry(later(1))
    assert Asked.objects.filter(person=table.cast.editor).exists()
    assert not Outgoing.objects.exists()


def test_what_is_undone_within_minutes_is_not_sent(table: Table, sink: Sink) -> None:
    note = table.note(table.cast.author)
    carry(later(1))
    notes.withdraw(by=table.cast.author, note=note, reason="", event=make.event())
    carry(later(8))
    assert sink.taken == []
    row = Outgoing.objects.get(person=table.cast.editor)
    assert row.ended_at is not None


def test_several_things_of_one_book_go_into_one_mail(table: Table, sink: Sink) -> None:
    other = table.book.items.get(label="10-11")
    make.at(other, Stage.SKETCH, Standing.HUNG)
    shown = make.revision(of=other, by=table.cast.illustrator, number=1)
    for revision in (table.revision, shown):
        table.revision, table.item = revision, revision.item
        table.note(table.cast.author)
    carry(later(1))
    assert carry(later(8)) == 1
    (mail,) = to(sink, table.cast.editor)
    assert "8-9" in text(mail)
    assert "10-11" in text(mail)


def test_a_note_sheet_is_mailed_to_the_illustrator_without_a_word_of_it(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.art_director, words="Turn the marzipan seagull round.")
    table.issue()
    carry(later(1))
    carry(later(8))
    (mail,) = to(sink, table.cast.illustrator)
    assert "1 line to answer" in text(mail)
    assert b"seagull" not in mail.as_bytes()
    assert [part.get_content_type() for part in mail.walk()] == [
        *("multipart/alternative", "text/plain", "text/html")
    ]


def test_the_headers_are_as_the_standards_say(table: Table, sink: Sink) -> None:
    """RFC 5322 3.6.4, RFC 3834 5, RFC 2369 3.2, RFC 8058 3.1."""
    table.note(table.cast.author)
    carry(later(1))
    carry(later(8))
    (mail,) = to(sink, table.cast.editor)
    assert mail["Message-ID"].endswith("@board.example.org>")
    assert mail["Auto-Submitted"] == "auto-generated"
    assert (
        mail["List-Unsubscribe"]
        .strip()
        .startswith("<https://board.example.org/post/off/")
    )
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"


def test_a_title_in_any_script_arrives_whole(table: Table, sink: Sink) -> None:
    table.book.title = "سبع رسائل قبل المدّ, Sept lettres, très tôt"
    table.book.save()
    table.note(table.cast.author)
    carry(later(1))
    carry(later(8))
    (mail,) = to(sink, table.cast.editor)
    assert table.book.title in str(mail["Subject"])
    assert f"\u2068{table.book.title}\u2069" in text(mail)  # UAX 9 isolates
    html = mail.get_body(("html",))
    assert html is not None
    assert f'<h2 dir="auto">{table.book.title}</h2>' in html.get_content()


def test_the_same_event_never_makes_a_second_row(table: Table) -> None:
    table.note(table.cast.author)
    look_round(later(1))
    row = Outgoing.objects.get(person=table.cast.editor)
    row.pk, row.key = None, "another-key-here"
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_a_mail_server_that_says_later_is_asked_again_and_the_name_stays(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    carry(later(1))
    sink.data_says = "451 busy"
    assert carry(later(8)) == 0
    row = Outgoing.objects.get(person=table.cast.editor)
    assert (row.attempts, row.sent_at, row.ended_at) == (1, None, None)
    assert "busy" in row.trouble
    sink.data_says = "250 OK"
    assert carry(later(8.5)) == 0  # not before its time
    assert carry(later(9.1)) == 1
    (mail,) = to(sink, table.cast.editor)
    assert mail["Message-ID"] == f"<{row.key}@board.example.org>"


def test_an_address_that_is_refused_for_good_is_not_tried_again(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    carry(later(1))
    sink.rcpt_says = "550 no such person"
    carry(later(8))
    row = Outgoing.objects.get(person=table.cast.editor)
    assert row.ended_at is not None
    sink.rcpt_says = "250 OK"
    assert carry(later(3000)) == 0


def test_a_server_that_does_not_answer_holds_nothing_up_and_loses_nothing(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    carry(later(1))
    sink.greets = False
    assert carry(later(8)) == 0
    sink.greets = True
    assert carry(later(10)) == 1


def test_a_worker_killed_before_the_server_had_it_sends_it_after_the_lease(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    look_round(later(1))
    row = Outgoing.objects.get(person=table.cast.editor)
    row.lease_owner, row.lease_until = "dead:1", later(13)
    row.save()
    assert send_due(later(8)) == 0  # another worker holds it
    assert send_due(later(14)) == 1
    assert len(to(sink, table.cast.editor)) == 1


class Killed(BaseException):
    """The process is gone."""


def test_a_worker_killed_in_the_gap_sends_a_second_copy_under_the_same_name(
    table: Table, sink: Sink, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What SMTP cannot promise (RFC 1047): taken by the server, not yet noted by us."""
    table.note(table.cast.author)
    look_round(later(1))
    with monkeypatch.context() as patch:

        def dies(_says: object) -> str:
            raise Killed

        patch.setattr("board.post.actions.sending.fingerprint", dies)
        with pytest.raises(Killed):
            send_due(later(8))
    assert send_due(later(20)) == 1
    one, other = to(sink, table.cast.editor)
    assert one["Message-ID"] == other["Message-ID"]


def test_it_is_given_up_after_some_two_days() -> None:
    waits = [again_in(attempts) for attempts in range(1, len(BACKOFF_MIN) + 1)]
    total = sum((wait for wait in waits if wait), timedelta())
    assert timedelta(days=1) < total < timedelta(days=3)
    assert again_in(len(BACKOFF_MIN) + 1) is None
    assert waits == sorted(waits, key=lambda wait: wait or timedelta())


@pytest.mark.parametrize(
    ("code", "final"),
    [(450, False), (421, False), (550, True), (554, True), (535, False)],
)
def test_only_a_refusal_of_the_address_is_final(code: int, *, final: bool) -> None:
    """RFC 5321 4.2.1: 4yz may succeed later, 5yz will not; 535 is our own sign-in."""
    assert is_final_refusal(code) is final


def test_who_is_off_the_book_gets_no_mail_that_was_on_its_way(
    table: Table, sink: Sink
) -> None:
    table.note(table.cast.author)
    carry(later(1))
    gone = table.book.credits.get(person=table.cast.editor)
    end_credit(gone, by=table.cast.publisher)
    carry(later(8))
    assert sink.taken == []


def test_who_stopped_a_book_hears_nothing_of_it(table: Table, sink: Sink) -> None:
    stop_mails(table.cast.editor, table.book)
    table.note(table.cast.author)
    carry(later(1))
    carry(later(8))
    assert sink.taken == []


LISBON_SEVEN = datetime(2026, 7, 2, 6, 0, tzinfo=UTC)


def test_a_digest_comes_once_a_day_at_the_readers_own_hour(
    table: Table, sink: Sink
) -> None:
    who = table.cast.designer
    who.time_zone = "Europe/Lisbon"
    who.save()
    keep_wishes(who, digest=True, at_once=False, hour=7)
    assert carry(later(-1, LISBON_SEVEN)) == 0  # 06:59 in summer time
    assert carry(LISBON_SEVEN) == 1
    assert carry(later(600, LISBON_SEVEN)) == 0
    (mail,) = to(sink, who)
    assert "fit waits for your initial" in text(mail)
    assert "overdue by" in text(mail) or "due" in text(mail)
    assert carry(LISBON_SEVEN + timedelta(days=1)) == 0  # nothing new to say
    assert carry(LISBON_SEVEN + timedelta(days=8)) == 1  # but once a week


def test_a_digest_is_not_sent_when_nothing_waits(table: Table, sink: Sink) -> None:
    keep_wishes(table.cast.rights, digest=True, at_once=True, hour=0)
    assert carry(LISBON_SEVEN) == 0
    assert sink.taken == []


def test_who_flies_west_gets_no_second_digest_that_day() -> None:
    last = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
    assert digest_day(last + timedelta(hours=10), hour=7, last=last) is None
    next_day = last + timedelta(hours=24)
    assert digest_day(next_day, hour=7, last=last) == next_day.date()
    assert digest_day(next_day, hour=8, last=last) is None
