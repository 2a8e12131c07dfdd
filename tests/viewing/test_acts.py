"""Acts by plain forms, as a browser without scripts sends them."""

import re
from html import unescape

from django.test import Client
from django.urls import reverse

from accounts.models import Person
from board.slips.models import Hold, Initial
from board.tissue.models import Note, PairRuling, Reply
from tests import make
from tests.viewing.conftest import Hung, looks

DRAWN = {
    "sort": "direction",
    "words": "Bring the lantern up.",
    "mark": "box",
    "points": "0.2,0.3 0.4,0.5",
}


def raise_it(hung: Hung, who: Person, **fields: str) -> Client:
    client = looks(who)
    sent = {"event": make.event(), "revision": hung.revision.key, **DRAWN, **fields}
    client.post(hung.room("new-note"), sent)
    return client


def act(note: Note, name: str) -> str:
    return reverse("viewing:note-act", args=[note.key, name])


def only_note() -> Note:
    return Note.objects.get()


def test_a_form_pins_a_note_and_the_page_comes_back(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    sent = {"event": make.event(), "revision": hung.revision.key, **DRAWN}
    answer = client.post(hung.room("new-note"), sent)
    assert answer.status_code == 302
    note = only_note()
    assert note.points == [[0.2, 0.3], [0.4, 0.5]]
    assert note.facet == "fit"


def test_the_same_form_sent_twice_pins_one_note(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    sent = {"event": make.event(), "revision": hung.revision.key, **DRAWN}
    for _ in range(3):
        client.post(hung.room("new-note"), sent)
    assert Note.objects.count() == 1


def test_a_place_by_numbers_in_millimetres_needs_no_picture(hung: Hung) -> None:
    raise_it(
        hung, hung.cast.designer, points="", mark="point", x="127", y="63.5", unit="mm"
    )
    assert only_note().points == [[0.25, 0.25]]


def test_a_box_by_numbers_in_per_cent(hung: Hung) -> None:
    numbers = {"x": "50", "y": "60", "x2": "20", "y2": "10", "unit": "%"}
    raise_it(hung, hung.cast.designer, points="", mark="box", **numbers)
    assert only_note().points == [[0.2, 0.1], [0.5, 0.6]]


def test_a_note_without_a_class_is_not_taken_and_its_words_stay(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    sent = {"event": make.event(), "revision": hung.revision.key, **DRAWN, "sort": ""}
    answer = client.post(hung.room("new-note"), sent)
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert "Choose a class" in page
    assert "Bring the lantern up." in page
    assert "0.2,0.3 0.4,0.5" in page
    assert not Note.objects.exists()


def test_reasons_come_back_in_the_form_when_a_script_asks(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    sent = {"event": make.event(), "revision": hung.revision.key, **DRAWN, "words": " "}
    answer = client.post(hung.room("new-note"), sent, headers={"Board-Part": "yes"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "data-reasons" in page
    assert "<html" not in page


def test_a_mark_far_off_the_sheet_is_refused_with_its_reason(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    sent = {
        "event": make.event(),
        "revision": hung.revision.key,
        **DRAWN,
        "points": "5,5 6,6",
    }
    answer = client.post(hung.room("new-note"), sent)
    assert answer.status_code == 422
    assert "outside the bled sheet" in unescape(answer.content.decode())


def test_reply_edit_and_withdraw(hung: Hung) -> None:
    client = raise_it(hung, hung.cast.designer)
    note = only_note()
    client.post(act(note, "reply"), {"event": make.event(), "words": "Or take it out."})
    assert Reply.objects.get().words == "Or take it out."
    page = unescape(client.get(act(note, "edit")).content.decode())
    assert "Bring the lantern up." in page
    version = re.search(r'name="version"[^>]*value="(\d+)"', page)
    assert version
    client.post(
        act(note, "edit"),
        {
            **DRAWN,
            "event": make.event(),
            "words": "Bring it down.",
            "version": version[1],
        },
    )
    note.refresh_from_db()
    assert note.words == "Bring it down."
    client.post(act(note, "withdraw"), {"event": make.event(), "words": ""})
    note.refresh_from_db()
    assert note.state == "withdrawn"


def test_an_edit_over_a_newer_one_is_stopped_and_keeps_what_was_typed(
    hung: Hung,
) -> None:
    client = raise_it(hung, hung.cast.designer)
    sent = {**DRAWN, "event": make.event(), "words": "Mine.", "version": "99"}
    answer = client.post(act(only_note(), "edit"), sent)
    page = unescape(answer.content.decode())
    assert answer.status_code == 412
    assert "changed while you were writing" in page
    assert "Mine." in page


def test_pass_on_and_decline_are_the_editors(hung: Hung) -> None:
    raise_it(hung, hung.cast.author)
    note = only_note()
    stranger = looks(hung.cast.designer).get(act(note, "pass_on"))
    assert stranger.status_code == 404
    editor = looks(hung.cast.editor)
    assert "pass on" in unescape(editor.get(hung.room()).content.decode())
    editor.post(act(note, "pass_on"), {"event": make.event(), "words": "Lantern up."})
    note.refresh_from_db()
    assert note.state == "open"
    assert note.passed_words == "Lantern up."


def test_a_pair_is_ruled_and_then_the_sheet_goes_out(hung: Hung) -> None:
    one = hung.note(hung.cast.editor, words="Closer.")
    other = hung.note(hung.cast.designer, words="Further.")
    client = looks(hung.cast.art_director)
    assert "Pairs to rule" in unescape(client.get(hung.room()).content.decode())
    blocked = client.post(hung.room("slip-act", "issue_sheet"), {"event": make.event()})
    assert blocked.status_code == 409
    client.post(
        hung.room("slip-act-on", "rule_pair", f"{one.key}-{other.key}"),
        {"event": make.event(), "ruling": "unrelated"},
    )
    assert PairRuling.objects.get().ruling == "unrelated"
    sent = client.post(hung.room("slip-act", "issue_sheet"), {"event": make.event()})
    assert sent.status_code == 302
    page = unescape(looks(hung.cast.illustrator).get(hung.room()).content.decode())
    assert "answer" in page
    answered = looks(hung.cast.illustrator).post(
        act(one, "answer"), {"event": make.event(), "answer": "done", "words": ""}
    )
    assert answered.status_code == 302


def test_an_initial_carries_the_receipt_that_the_page_gave(hung: Hung) -> None:
    client = looks(hung.cast.designer)
    page = unescape(client.get(hung.room()).content.decode())
    receipt = re.search(r'name="receipt" value="([^"]+)"', page)
    assert receipt
    address = hung.room("slip-act-on", "initial", "fit")
    client.post(address, {"event": make.event(), "receipt": receipt[1]})
    given = Initial.objects.get()
    assert (given.facet, given.person) == ("fit", hung.cast.designer)
    page = unescape(client.get(hung.room()).content.decode())
    assert "pull it" in page
    pull = hung.room("slip-act-on", "pull", given.key)
    form = unescape(client.get(pull).content.decode())
    ripple = re.search(r'name="ripple" value="([^"]+)"', form)
    assert ripple
    words = "I looked at the wrong proof."
    sent = {"event": make.event(), "words": words, "ripple": ripple[1]}
    client.post(pull, sent)
    given.refresh_from_db()
    assert given.ended_at


def test_a_receipt_of_another_person_is_no_receipt(hung: Hung) -> None:
    page = looks(hung.cast.editor).get(hung.room()).content.decode()
    receipt = re.search(r'name="receipt" value="([^"]+)"', unescape(page))
    assert receipt
    answer = looks(hung.cast.designer).post(
        hung.room("slip-act-on", "initial", "fit"),
        {"event": make.event(), "receipt": receipt[1]},
    )
    assert answer.status_code == 422
    assert not Initial.objects.exists()


def test_hold_and_release(hung: Hung) -> None:
    client = looks(hung.cast.rights)
    client.post(
        hung.room("slip-act", "hold"), {"event": make.event(), "words": "Source C07."}
    )
    held = Hold.objects.get()
    page = unescape(looks(hung.cast.author).get(hung.room()).content.decode())
    assert "Source C07." in page
    client.post(hung.room("slip-act-on", "release", held.key), {"event": make.event()})
    held.refresh_from_db()
    assert held.released_at


def test_an_act_that_is_no_act_is_nothing_here(hung: Hung) -> None:
    note = hung.note(hung.cast.editor)
    client = looks(hung.cast.editor)
    assert client.get(act(note, "burn")).status_code == 404
    assert client.get(hung.room("slip-act", "burn")).status_code == 404


def test_another_items_hold_is_not_released_from_here(hung: Hung) -> None:
    other = hung.book.items.get(label="10-11")
    held = Hold.objects.create(
        item=other,
        role="rights",
        by=hung.cast.rights,
        reason="Source C08.",
        at=make.NOW,
    )
    answer = looks(hung.cast.rights).post(
        hung.room("slip-act-on", "release", held.key), {"event": make.event()}
    )
    assert answer.status_code == 404
