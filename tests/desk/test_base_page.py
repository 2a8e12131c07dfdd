"""What every page shares: policy, import map, standings, fields, and the stop page."""

import json
import re

import pytest
from django import forms
from django.template import Context, Template
from django.test import Client

from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db
SHAPES = {
    "shut": "folded",
    "at the table": "lying",
    "hung": "tacked",
    "returned": "curled",
    "OK as corrected": "half-box",
    "OK": "full-box",
    "handed over": "parcel",
}


def drawn(text: str, **context: object) -> str:
    return Template("{% load board_tags %}" + text).render(Context(context))


def test_the_import_map_carries_the_nonce_of_the_policy(client: Client) -> None:
    answer = client.get("/people/sign-in/")
    page, policy = answer.content.decode(), answer["Content-Security-Policy"]
    found = re.search(r'<script type="importmap" nonce="([^"]+)">(.*?)</script>', page)
    assert found
    assert f"'nonce-{found.group(1)}'" in policy
    imports = json.loads(found.group(2))["imports"]
    assert imports["#lib/words.js"] == "/static/js/lib/words.js"


def test_pages_hold_no_inline_script_or_style(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    client.force_login(cast.editor)
    key = book.key
    paths = ["/", f"/wall/{key}/", f"/books/{key}/", f"/books/{key}/people/"]
    paths += [f"/books/{key}/manuscript/", f"/books/items/{item.key}/boxes/"]
    for path in paths:
        page = client.get(path).content.decode()
        assert not re.search(r"\sstyle=|<style|\son\w+=", page), path
        assert page.count("<script>") == 0, path
        assert page.count("<h1") == 1, path


@pytest.mark.parametrize("standing", Standing)
def test_each_standing_has_its_word_and_its_own_shape(standing: Standing) -> None:
    page = drawn("{% standing word %}", word=standing.value)
    assert f"#{SHAPES[standing.value]}" in page
    assert f">{standing.value}</span>" in page
    assert len(set(SHAPES.values())) == len(Standing)


def test_a_waived_stage_and_a_hold_are_said(item: Item) -> None:
    stage = item.stages.get(stage=Stage.WASHES)
    stage.waived = "collage only"
    assert "waived" in drawn("{% standing stage %}", stage=stage)
    held = drawn("{% standing 'hung' held=True %}")
    assert "#clip" in held
    assert "held" in held


def test_a_field_ties_label_hint_and_fault_together() -> None:
    class Form(forms.Form):
        words = forms.CharField(label="Words", help_text="Short ones.")

    page = drawn("{% field form.words %}", form=Form({"words": ""}))
    assert 'for="id_words"' in page
    assert 'aria-describedby="id_words-hint id_words-wrong"' in page
    assert 'aria-invalid="true"' in page
    assert 'id="id_words-wrong"' in page


def test_the_stop_page_keeps_what_was_typed_but_no_secrets(
    client: Client, book: Book, cast: Cast
) -> None:
    client.force_login(cast.designer)
    sent = {
        "pasted": "all <b>seven</b> letters",
        "event": "hidden-event",
        "password": "x",
    }
    answer = client.post(f"/books/{book.key}/manuscript/", sent)
    page = answer.content.decode()
    assert answer.status_code == 403
    assert "all &lt;b&gt;seven&lt;/b&gt; letters" in page
    assert "hidden-event" not in page
    assert "Ask the editor or the art director" in page


def test_an_address_that_leads_nowhere_says_so_kindly(client: Client) -> None:
    client.force_login(make.person())
    answer = client.get("/nowhere/at/all/")
    assert answer.status_code == 404
    assert "Nothing here" in answer.content.decode()
