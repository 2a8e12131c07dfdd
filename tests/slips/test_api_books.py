"""Deputies and text versions for programs, as the pages have them."""

from datetime import timedelta

from board.books.queries.deputies import today
from board.slips.models import Initial
from tests import make
from tests.slips.conftest import Table
from tests.slips.test_api_flows import client, send, told


def test_a_deputy_is_named_listed_and_ended(table: Table) -> None:
    who = table.cast
    address = f"/api/books/{table.book.key}/deputies/"
    body = {
        "event": make.event(),
        "role": "designer",
        "principal": who.designer.initials,
        "person": who.editor.initials,
        "first_day": str(today()),
        "last_day": str(today() + timedelta(days=3)),
    }
    made = send(who.designer, address, body)
    again = send(who.designer, address, body)
    assert (made.status_code, again.status_code) == (201, 201)
    assert told(made) == told(again)
    assert who.production.initials == who.publisher.initials
    two = body | {"person": who.production.initials, "event": make.event()}
    assert send(who.designer, address, two).status_code == 422  # which of them?
    assert send(who.illustrator, address, body).status_code == 403
    assert send(who.stranger, address, body).status_code == 404
    (one,) = told(client(who.author).get(address))
    assert (one["person"], one["principal"]) == (body["person"], body["principal"])
    end = f"/api/deputies/{one['key']}/end/"
    assert send(who.author, end, {"event": make.event()}).status_code == 403
    assert told(send(who.designer, end, {"event": make.event()}))["ended_at"]
    assert told(client(who.author).get(address)) == []


def test_new_words_are_looked_at_first_then_done_exactly_so(table: Table) -> None:
    table.initial(table.cast.designer, "fit")
    address = f"/api/books/{table.book.key}/moves/"
    body = {
        "move": "change_text",
        "version": 0,
        "event": make.event(),
        "words": {table.item.key: "Fifty years."},
        "reason": "the author's wish",
        "code": "AA",
        "payer": "none, by agreement",
    }
    assert send(table.cast.designer, address, body).status_code == 403
    seen = told(send(table.cast.editor, address, body))
    assert not seen["done"]
    assert [one[2] for one in seen["touches"]["lapses"]] == ["fit"]
    assert Initial.objects.filter(ended_at=None).count() == 1
    done = send(table.cast.editor, address, body | {"ripple": seen["digest"]})
    assert told(done)["done"]
    assert not Initial.objects.filter(ended_at=None).exists()
    texts = f"/api/books/{table.book.key}/texts/"
    (made,) = told(client(table.cast.illustrator).get(texts))
    assert (made["number"], made["by"]) == (1, table.cast.editor.initials)
    assert made["changed"] == [{"item": table.item.key, "words": "Fifty years."}]
    assert client(table.cast.stranger).get(texts).status_code == 404
