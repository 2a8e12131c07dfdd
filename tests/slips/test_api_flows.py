"""Programs act as pages do: once an event, on the version they read, in plain words."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from accounts.models import Person
from board.slips.actions import notes
from board.tissue.models import Note, Reply
from tests import make
from tests.slips.conftest import BOX, Table

PROBLEM = "application/problem+json"


def client(who: Person, *, csrf: bool = False) -> Client:
    made = Client(enforce_csrf_checks=csrf)
    made.force_login(who)
    return made


def send(
    who: Person, address: str, body: Any, method: str = "post", **headers: str
) -> HttpResponse:
    answer: HttpResponse = getattr(client(who), method)(
        address, body, content_type="application/json", headers=headers
    )
    return answer


def raise_by_api(table: Table, who: Person, **more: Any) -> HttpResponse:
    body = {
        "event": make.event(),
        "revision": table.revision.key,
        "sort": "direction",
        "words": "Move her left.",
        "mark": "box",
        "points": BOX,
    }
    return send(who, f"/api/items/{table.item.key}/notes/", body | more)


def told(answer: Any) -> Any:
    return answer.json()


# --------------------------------------------------------------------- events, once


def test_the_same_event_twice_makes_one_note_and_the_same_answer(table: Table) -> None:
    event = make.event()
    first = raise_by_api(table, table.cast.designer, event=event)
    again = raise_by_api(table, table.cast.designer, event=event, words="Other words.")
    assert (first.status_code, again.status_code) == (201, 201)
    assert told(first)["key"] == told(again)["key"]
    assert first["Location"] == again["Location"]
    assert Note.objects.count() == 1


def test_two_people_may_use_the_same_event(table: Table) -> None:
    event = make.event()
    raise_by_api(table, table.cast.designer, event=event)
    raise_by_api(table, table.cast.production, event=event)
    assert Note.objects.count() == 2


def test_a_reply_sent_twice_stands_once(table: Table) -> None:
    note = table.note(table.cast.designer)
    body = {"event": make.event(), "words": "By how much?"}
    for _ in range(2):
        answer = send(table.cast.editor, f"/api/notes/{note.key}/replies/", body)
        assert answer.status_code == 201
    assert Reply.objects.count() == 1


def test_an_initial_sent_twice_is_given_once(table: Table) -> None:
    shown = client(table.cast.designer).get(
        f"/api/items/{table.item.key}/receipt/", {"revision": table.revision.key}
    )
    body = {"event": make.event(), "facet": "fit", "receipt": told(shown)["receipt"]}
    address = f"/api/items/{table.item.key}/initials/"
    keys = {told(send(table.cast.designer, address, body))["key"] for _ in range(2)}
    assert len(keys) == 1


@pytest.mark.parametrize("event", ["", "short", "x" * 41, "with space in"])
def test_an_event_is_8_to_40_plain_characters(table: Table, event: str) -> None:
    answer = raise_by_api(table, table.cast.designer, event=event)
    assert answer.status_code == 422
    assert "event" in told(answer)["fields"]


# ------------------------------------------------------------- ETag and If-Match


def test_a_change_names_the_version_it_changes(table: Table) -> None:
    note = table.note(table.cast.designer)
    address = f"/api/notes/{note.key}/"
    read = client(table.cast.designer).get(address)
    body = {"event": make.event(), "words": "Move her right."}
    bare = send(table.cast.designer, address, body, "patch")
    assert bare.status_code == 428
    changed = send(table.cast.designer, address, body, "patch", if_match=read["ETag"])
    assert changed.status_code == 200
    assert told(changed)["words"] == "Move her right."
    assert changed["ETag"] != read["ETag"]


def test_who_is_slower_is_told_and_loses_nothing(table: Table) -> None:
    note = table.note(table.cast.designer)
    address = f"/api/notes/{note.key}/"
    read = client(table.cast.designer).get(address)["ETag"]
    for words, expected in (("First.", 200), ("Second.", 412)):
        body = {"event": make.event(), "words": words}
        answer = send(table.cast.designer, address, body, "patch", if_match=read)
        assert answer.status_code == expected
    note.refresh_from_db()
    assert note.words == "First."


def test_a_change_sent_again_after_a_cut_line_is_not_stale(table: Table) -> None:
    note = table.note(table.cast.designer)
    address = f"/api/notes/{note.key}/"
    read = client(table.cast.designer).get(address)["ETag"]
    body = {"event": make.event(), "words": "Once."}
    answers = [
        send(table.cast.designer, address, body, "patch", if_match=read)
        for _ in range(2)
    ]
    assert [answer.status_code for answer in answers] == [200, 200]
    note.refresh_from_db()
    assert note.version == 2


def test_a_weak_or_foreign_tag_does_not_match(table: Table) -> None:
    note = table.note(table.cast.designer)
    address = f"/api/notes/{note.key}/"
    read = client(table.cast.designer).get(address)["ETag"]
    for tag in (f"W/{read}", '"made-up"', "made-up"):
        body = {"event": make.event(), "words": "No."}
        answer = send(table.cast.designer, address, body, "patch", if_match=tag)
        assert answer.status_code == 412


# ------------------------------------------------------------------------ refusals


def test_a_refused_move_tells_every_reason(table: Table) -> None:
    table.note(table.cast.author)
    table.note(table.cast.designer)
    table.note(table.cast.production)
    address = f"/api/items/{table.item.key}/note-sheets/"
    answer = send(table.cast.art_director, address, {"event": make.event()})
    assert answer.status_code == 409
    assert answer["Content-Type"] == PROBLEM
    assert len(told(answer)["reasons"]) == 2
    assert told(answer)["status"] == 409


def test_nobody_signed_in_is_told_how(table: Table) -> None:
    answer = Client().get(f"/api/items/{table.item.key}/notes/")
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Session"
    assert answer["Content-Type"] == PROBLEM


def test_a_write_without_the_csrf_token_is_refused(table: Table) -> None:
    answer = client(table.cast.designer, csrf=True).post(
        f"/api/items/{table.item.key}/notes/", {}, content_type="application/json"
    )
    assert answer.status_code == 403
    assert "CSRF" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        ("{", "application/json", 400),
        ("[]", "application/json", 422),
        ("[" * 200_000, "application/json", 400),
        ("x" * 2_600_000, "application/json", 413),
        ("a=b", "application/x-www-form-urlencoded", 415),
        ('{"event": "\\ud800-------"}', "application/json", 422),
    ],
    ids=["broken", "a list", "nested deep", "too large", "a form", "half a character"],
)
def test_what_cannot_be_read_is_a_problem(
    table: Table, body: str, kind: str, status: int
) -> None:
    address = f"/api/items/{table.item.key}/notes/"
    answer = client(table.cast.designer).post(address, body, content_type=kind)
    assert answer.status_code == status
    assert answer["Content-Type"] == PROBLEM


def test_an_unknown_address_is_a_problem_and_no_page(table: Table) -> None:
    for method in ("get", "post", "delete"):
        answer = getattr(client(table.cast.designer), method)("/api/nothing/here")
        assert answer.status_code == 404
        assert answer["Content-Type"] == PROBLEM


# ----------------------------------------------------------------------- a round


def test_a_round_goes_through_the_api_alone(table: Table) -> None:
    cast, item = table.cast, f"/api/items/{table.item.key}"
    note = told(raise_by_api(table, cast.art_director))["key"]
    sheet = send(cast.art_director, f"{item}/note-sheets/", {"event": make.event()})
    assert [line["note"] for line in told(sheet)["lines"]] == [note]
    done = {"event": make.event(), "act": "answer", "answer": "done"}
    answered = send(cast.illustrator, f"/api/notes/{note}/acts/", done)
    assert told(answered)["answer"] == "done"
    new = make.revision(of=table.item, by=cast.illustrator)
    up = {"event": make.event(), "move": "send_up", "revision": new.key}
    hung = send(cast.illustrator, f"{item}/moves/", up)
    assert told(hung)["standing"] == "hung"
    closed = {"event": make.event(), "act": "close"}
    send(cast.art_director, f"/api/notes/{note}/acts/", closed)
    for who, facet in (
        (cast.designer, "fit"),
        (cast.editor, "story"),
        (cast.art_director, "art"),
        (cast.author, "words"),
    ):
        shown = client(who).get(f"{item}/receipt/", {"revision": new.key})
        body = {"event": make.event(), "facet": facet}
        body |= {"receipt": told(shown)["receipt"]}
        given = send(who, f"{item}/initials/", body)
        assert given.status_code == 201, told(given)
    now = told(client(cast.author).get(f"{item}/"))
    assert now["standing"] == "OK"
    assert now["standing_now"]["why_not_ok"] == []


def test_a_withheld_note_is_no_target_for_a_merge(table: Table) -> None:
    mine = table.note(table.cast.designer)
    waiting = table.note(table.cast.author)
    body = {"event": make.event(), "act": "merge", "into": waiting.key}
    answer = send(table.cast.designer, f"/api/notes/{mine.key}/acts/", body)
    assert answer.status_code == 404


# ------------------------------------------------------------------------- events


def _events(table: Table, who: Person, since: int = 0, limit: int = 500) -> Any:
    return client(who).get(
        f"/api/books/{table.book.key}/events/", {"since": since, "limit": limit}
    )


def test_events_are_numbered_without_a_gap_for_each_reader(table: Table) -> None:
    table.note(table.cast.author)
    table.note(table.cast.designer)
    for who in table.cast.by_role().values():
        numbers = [event["number"] for event in _events(table, who).json()]
        assert numbers == list(range(1, len(numbers) + 1))


def test_what_a_reader_was_told_keeps_its_number_for_ever(table: Table) -> None:
    cast = table.cast
    before = {who.pk: _events(table, who).json() for who in cast.by_role().values()}
    waiting = table.note(cast.author, "query")
    table.note(cast.art_director)
    for who in cast.by_role().values():
        seen = _events(table, who).json()
        assert seen[: len(before[who.pk])] == before[who.pk]
        before[who.pk] = seen
    notes.pass_on(by=cast.editor, note=waiting, words="", event=make.event())
    table.issue()
    for who in cast.by_role().values():
        seen = _events(table, who).json()
        assert seen[: len(before[who.pk])] == before[who.pk], who.name


def test_who_was_away_asks_for_what_was_missed(table: Table) -> None:
    table.note(table.cast.art_director)
    table.issue()
    everything = _events(table, table.cast.editor).json()
    first = _events(table, table.cast.editor, limit=2)
    assert 'rel="next"' in first["Link"]
    gathered, link = first.json(), first["Link"]
    while link:
        page = client(table.cast.editor).get(link.split(">")[0].lstrip("<"))
        gathered += page.json()
        link = page.get("Link", "")
    assert gathered == everything
    assert _events(table, table.cast.editor, since=len(everything)).json() == []


def test_items_come_in_pages_with_links_both_ways(table: Table) -> None:
    for number in range(40):
        table.book.items.create(
            position=100 + number, kind="jacket", label=f"extra {number}"
        )
    address = f"/api/books/{table.book.key}/items/"
    first = client(table.cast.author).get(address)
    second = client(table.cast.author).get(first.json()["next"])
    assert 'rel="next"' in first["Link"]
    assert 'rel="prev"' in second["Link"]
    labels = [item["label"] for item in first.json()["results"]]
    labels += [item["label"] for item in second.json()["results"]]
    assert len(labels) == len(set(labels)) == table.book.items.count()


# ---------------------------------------------------------------- query ceilings


@pytest.mark.parametrize(
    ("address", "ceiling"),
    [
        ("/api/books/", 8),
        ("/api/books/{book}/items/", 24),
        ("/api/items/{item}/notes/", 14),
    ],
)
def test_a_list_asks_the_database_no_more_often_when_it_is_longer(
    table: Table,
    address: str,
    ceiling: int,
    django_assert_max_num_queries: Any,  # a fixture without types
) -> None:
    for _ in range(5):
        table.note(table.cast.designer, "comment")
    place = address.format(book=table.book.key, item=table.item.key)
    editor = client(table.cast.editor)
    with django_assert_max_num_queries(ceiling):
        assert editor.get(place).status_code == 200
