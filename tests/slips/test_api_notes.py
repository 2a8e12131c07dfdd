"""Pinning by the API: what it asks of the database, and what a merged note tells."""

from typing import Any

from board.tissue.models import Note
from tests import make
from tests.slips.conftest import Table
from tests.slips.test_api_flows import client, send, told


def test_pinning_a_note_asks_no_more_often_when_many_lie_there(
    table: Table, django_assert_max_num_queries: Any
) -> None:
    designer = client(table.cast.designer)
    address = f"/api/items/{table.item.key}/notes/"
    body = {"revision": table.revision.key, "sort": "comment", "words": "Good."}
    kind = "application/json"
    for _ in range(4):
        with django_assert_max_num_queries(24):
            answer = designer.post(address, body | {"event": make.event()}, kind)
        assert answer.status_code == 201


def test_a_merged_note_names_the_other_only_to_who_may_see_it(table: Table) -> None:
    art_director = table.cast.art_director
    stays, goes = table.note(art_director), table.note(art_director)
    act = {"act": "merge", "into": stays.key, "event": make.event()}
    merged = send(art_director, f"/api/notes/{goes.key}/acts/", act)
    assert told(merged)["merged_into"] == stays.key
    Note.objects.filter(pk=stays.pk).update(state="declined")  # as if never passed on
    again = client(table.cast.designer).get(f"/api/notes/{goes.key}/")
    assert told(again)["merged_into"] == ""
