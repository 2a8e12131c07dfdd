"""What was written without a line meets a board that has moved on."""

import pytest
from django.test import Client

from accounts.models import Person
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.tissue.models import Note
from tests import make
from tests.viewing.conftest import Hung

pytestmark = pytest.mark.django_db
PART = {"Board-Part": "yes"}
MIXED = "שלום, עולם: a\u0301 e\u0308 \u202eabc\u202c and नमस्ते"


def client_of(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def note(hung: Hung, event: str, words: str = "Left of the lamp.") -> dict[str, str]:
    told = {"sort": "comment", "mark": "point", "points": "0.5,0.5"}
    return {"event": event, "revision": hung.revision.key, "words": words, **told}


def test_a_note_typed_on_a_revision_that_was_superseded_is_carried(hung: Hung) -> None:
    client, sent = client_of(hung.cast.editor), note(hung, make.event())
    new = hung.next_up()
    answer = client.post(hung.room("new-note"), sent, headers=PART)
    assert answer.status_code == 200
    assert "data-done" in answer.content.decode()
    assert Note.objects.get().made_on == hung.revision
    room = client.get(hung.room() + f"?revision={new.key}").content.decode()
    assert "Left of the lamp." in room
    assert "made on sketch, revision 1" in room


def test_a_note_sent_again_under_its_number_is_there_once(hung: Hung) -> None:
    client, sent = client_of(hung.cast.editor), note(hung, make.event())
    for _ in range(2):
        assert client.post(hung.room("new-note"), sent, headers=PART).status_code == 200
    assert Note.objects.count() == 1


def test_an_initial_for_a_superseded_picture_comes_back_with_every_reason(
    hung: Hung,
) -> None:
    author = hung.cast.author
    receipt = receipt_for(author, hung.item, hung.revision)
    hung.next_up()
    sent = {"event": make.event(), "receipt": receipt}
    address = hung.room("slip-act-on", "initial", "words")
    answer = client_of(author).post(address, sent, headers=PART)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert not Initial.objects.exists()
    reasons = page.split("data-reasons")[1].split("</ul>")[0]
    # Another picture is current, and nobody before her has initialled.
    assert reasons.count("<li>") >= 2


def test_words_in_every_direction_and_with_combining_marks_come_back_as_typed(
    hung: Hung,
) -> None:
    client = client_of(hung.cast.editor)
    client.post(hung.room("new-note"), note(hung, make.event(), MIXED), headers=PART)
    assert Note.objects.get().words == MIXED
    page = client.get(hung.room()).content.decode()
    assert f'data-words dir="auto">{MIXED}</p>' in page


def test_without_scripts_an_initial_is_a_plain_form_in_the_page(hung: Hung) -> None:
    client = client_of(hung.cast.editor)
    page = client.get(hung.room()).content.decode()
    receipt = page.split('name="receipt" value="')[1].split('"')[0]
    sent = {"event": make.event(), "receipt": receipt}
    answer = client.post(hung.room("slip-act-on", "initial", "story"), sent)
    assert answer.status_code == 302
    assert Initial.objects.get().facet == "story"
