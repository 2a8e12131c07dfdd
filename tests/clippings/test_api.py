"""Sources, checks, continuity and readings as programs meet them."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from accounts.models import Person
from board.clippings.models import OfferedUse
from board.daybook.actions import replayed_at, this_moment
from tests import make
from tests.clippings.conftest import Desk


def asked(who: Person, method: str, path: str, sent: Any = None, **headers: str) -> Any:
    client = Client(headers=headers)
    client.force_login(who)
    send = getattr(client, method)
    if sent is None:
        return send(f"/api/{path}")
    return send(f"/api/{path}", sent, content_type="application/json")


def event(**more: Any) -> dict[str, Any]:
    return {"event": make.event(), **more}


def test_a_source_is_entered_judged_marked_and_taken_off(desk: Desk) -> None:
    rights, artist = desk.cast.rights, desk.cast.illustrator
    made = asked(
        artist, "post", f"books/{desk.book.key}/clippings/",
        event(code="C05", what="A school map.", matters={"maps": "yes"}, fee="none"),
    )  # fmt: skip
    assert made.status_code == 201
    assert made["Location"].endswith(f"/api/clippings/{made.json()['key']}/")
    assert made.json()["clearance"] == "unknown"
    assert made.json()["fee"] == ""  # what a grant says is rights' to write
    assert "not legal advice" in made.json()["caution"]
    path = f"clippings/{made.json()['key']}/"
    place = {"item": desk.item.key, "mark": "box", "points": [[0.1, 0.1], [0.2, 0.2]]}
    use = asked(artist, "post", f"{path}uses/", event(**place))
    assert use.status_code == 201
    assert use.json()["now"] is True
    read = asked(rights, "get", path)
    assert read.json()["areas"][0]["label"] == desk.item.label
    assert read.json()["largest_cm2"] == pytest.approx(use.json()["cm2"], abs=0.01)
    refused = asked(artist, "post", f"{path}clearance/", event(clearance="granted"))
    assert refused.status_code == 403
    assert refused["Content-Type"] == "application/problem+json"
    judged = asked(rights, "post", f"{path}clearance/", event(clearance="granted"))
    assert judged.json()["clearance"] == "granted"
    off = asked(artist, "post", f"uses/{use.json()['key']}/off/", event())
    assert off.json()["now"] is False
    assert asked(rights, "get", f"{path}uses/").json() == []


def test_a_record_changes_only_as_it_was_read(desk: Desk) -> None:
    source, rights = desk.enter(), desk.cast.rights
    path = f"clippings/{source.key}/"
    assert asked(rights, "patch", path, event(remark="Seen.")).status_code == 428
    tag = asked(rights, "get", path)["ETag"]
    sent = event(remark="Seen.")
    kept = asked(rights, "patch", path, sent, if_match=tag)
    assert kept.json()["remark"] == "Seen."
    assert asked(rights, "patch", path, sent, if_match=tag).status_code == 200
    stale = asked(rights, "patch", path, event(remark="No."), if_match=tag)
    assert stale.status_code == 412


def test_contacts_are_added_to_and_lists_are_paged(
    desk: Desk, django_assert_max_num_queries: Any
) -> None:
    source, rights = desk.enter(), desk.cast.rights
    said = event(on="2026-03-02", whom="Fennel Atlas Co.", said="They will answer.")
    path = f"clippings/{source.key}/contacts/"
    assert asked(rights, "post", path, said).status_code == 201
    assert asked(rights, "post", path, said).status_code == 201  # sent twice
    assert len(asked(rights, "get", path).json()["results"]) == 1
    for number in range(50):
        desk.enter(f"D{number:02}")
    with django_assert_max_num_queries(24):  # signing in takes some of them
        page = asked(rights, "get", f"books/{desk.book.key}/clippings/")
    assert len(page.json()["results"]) == 40
    assert 'rel="next"' in page["Link"]


def test_an_offer_is_declined_and_gone(desk: Desk) -> None:
    from board.clippings.actions import Place, offer_use  # noqa: PLC0415

    source, rights = desk.enter(), desk.cast.rights
    outline = [[0.1, 0.1], [0.2, 0.1], [0.2, 0.2]]
    offer_use(source, desk.revision, Place(None, outline), likeness=0.8, recipe="r")
    path = f"books/{desk.book.key}/offers/"
    told = asked(rights, "get", path).json()
    assert [one["clipping"] for one in told] == [source.key]
    said = asked(rights, "post", f"offers/{told[0]['key']}/", event(accepted=False))
    assert said.json() == []
    assert asked(rights, "get", path).json() == []
    assert OfferedUse.objects.get().accepted is False
    assert asked(desk.cast.author, "get", path).status_code == 403


def test_checks_and_the_printing_condition(desk: Desk) -> None:
    production = desk.cast.production
    checks = asked(production, "get", f"revisions/{desk.revision.key}/checks/")
    assert checks.json()["over"] is False
    path = f"books/{desk.book.key}/printing/"
    before = asked(production, "get", path)
    assert before.json()["ink_source"].startswith("common practice")
    draft = event(name="Offset", ink_limit=280, ink_source="the printer's guide")
    assert asked(production, "put", path, draft).status_code == 428
    kept = asked(production, "put", path, draft, if_match=before["ETag"])
    assert kept.json()["ink_limit"] == 280
    wild = asked(production, "put", path, {**draft, "ink_limit": 900}, if_match="*")
    assert wild.status_code == 422
    assert "ink_limit" in wild.json()["fields"]


def test_things_are_followed_by_value_and_the_odd_one_out_is_told(desk: Desk) -> None:
    editor = desk.cast.editor
    made = asked(editor, "post", f"books/{desk.book.key}/things/", event(name="coat"))
    path = f"things/{made.json()['key']}/"
    items = list(desk.book.items.order_by("position")[:4])
    values = [{"item": item.key, "value": "ochre"} for item in items]
    values[2]["value"] = "green"
    kept = asked(editor, "patch", path, event(values=values), if_match=made["ETag"])
    odd = [cell["item"] for cell in kept.json()["cells"] if cell["odd"]]
    assert odd == [items[2].key]
    assert kept.json()["usual"] == "ochre"
    box = event(item=items[0].key, points=[[0.1, 0.1], [0.2, 0.2]])
    assert asked(editor, "post", f"{path}places/", box).status_code == 201
    bad = event(item=items[0].key, points=[[0.1, 0.1], [5, 0.2]])
    assert asked(editor, "post", f"{path}places/", bad).status_code == 422
    assert "noise" in asked(editor, "get", f"{path}places/").json()["caution"]


def test_a_reading_is_begun_and_held_by_a_program(desk: Desk) -> None:
    editor, path = desk.cast.editor, f"books/{desk.book.key}/readings/"
    with replayed_at(this_moment() - timedelta(minutes=5)):
        begun = asked(editor, "post", f"{path}begin/", {})
    held = asked(editor, "post", path, event(word=begun.json()["word"]))
    assert held.status_code == 201
    assert held.json()["list_hash"] == begun.json()["list_hash"]
    assert asked(editor, "get", path).json()["results"][0]["by"] == editor.initials
    forged = asked(editor, "post", path, event(word="made-up"))
    assert forged.status_code == 422
