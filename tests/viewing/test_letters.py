"""The author's letter: complete, small, without scripts, and hers alone."""

import re
from pathlib import Path

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from accounts.models import Person
from board.books.models import Book
from board.books.rules import Stage, Standing
from board.light_table.models import Comparison
from board.light_table.queries import recipe_of
from board.repro.models import LeasedWork
from board.slips.actions import initials, notes, sheets
from board.slips.models import Initial
from board.slips.queries.receipts import receipt_for
from board.tissue.models import Note
from board.tissue.rules import NoteDraft
from board.viewing.models import Looked
from tests import make
from tests.viewing.conftest import Hung, looks

pytestmark = pytest.mark.django_db
HOUSE = (("designer", "fit"), ("editor", "story"), ("art_director", "art"))


def house_initials(hung: Hung) -> None:
    for who, facet in HOUSE:
        by: Person = getattr(hung.cast, who)
        initials.initial(
            by=by,
            item=hung.item,
            facet=facet,
            receipt=receipt_for(by, hung.item, hung.revision),
            event=make.event(),
        )


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]+)"', page)
    assert found
    return found[1]


def read(hung: Hung) -> str:
    return looks(hung.cast.author).get(hung.room("letter")).content.decode()


def test_she_initials_right_there_what_the_letter_showed(hung: Hung) -> None:
    assert "Nothing to initial now" in read(hung)
    house_initials(hung)
    page = read(hung)
    sent = {name: hidden(page, name) for name in ("event", "receipt")}
    her = looks(hung.cast.author)
    for _ in range(2):  # the line dropped, her phone sends it again
        answer = her.post(hung.room("letter-initial"), sent)
        assert answer["Location"] == hung.room("letter")
    given = Initial.objects.get(facet="words")
    assert given.bound_sha256 == hung.revision.sha256
    assert "initial-box" in her.get(hung.room("letter")).content.decode()


def test_a_letter_that_lay_open_too_long_says_why_and_gives_nothing(
    hung: Hung,
) -> None:
    house_initials(hung)
    page = read(hung)
    sent = {name: hidden(page, name) for name in ("event", "receipt")}
    hung.revision = hung.next_up()
    house_initials(hung)
    answer = looks(hung.cast.author).post(hung.room("letter-initial"), sent)
    assert answer.status_code == 409
    assert "another revision" in answer.content.decode()
    assert not Initial.objects.filter(facet="words").exists()


def test_a_note_from_the_letter_waits_with_the_editor_and_its_fate_is_told(
    hung: Hung,
) -> None:
    her = looks(hung.cast.author)
    sent = {
        "event": make.event(),
        "revision": hung.revision.key,
        "words": "Le bateau est à l'envers.",
        "sort": "direction",
    }
    assert her.post(hung.room("letter-note"), sent).status_code == 302
    note = Note.objects.get()
    assert note.state == Note.State.WITH_EDITOR
    assert "It waits with the editor." in read(hung)
    event = make.event()
    notes.decline(
        by=hung.cast.editor, note=note, reason="It is a reflection.", event=event
    )
    page = read(hung)
    assert "Not passed on, says The editor." in page
    assert "It is a reflection." in page


def test_words_typed_without_a_class_are_not_lost(hung: Hung) -> None:
    sent = {
        "event": make.event(),
        "revision": hung.revision.key,
        "words": "Nothing typed is lost.",
    }
    answer = looks(hung.cast.author).post(hung.room("letter-note"), sent)
    assert answer.status_code == 422
    assert "Nothing typed is lost." in answer.content.decode()


def test_the_letter_tells_the_whole_way_of_a_note(hung: Hung) -> None:
    note = hung.note(hung.cast.author, words="Move the lamp.")
    notes.pass_on(by=hung.cast.editor, note=note, words="", event=make.event())
    assert "It was passed on" in read(hung)
    sheets.issue_sheet(by=hung.cast.art_director, item=hung.item, event=make.event())
    assert "It went to the artist as line 1.1." in read(hung)
    artist = hung.cast.illustrator
    notes.answer(
        by=artist, note=note, answer="done", words="Moved.", event=make.event()
    )
    page = read(hung)
    assert "Answered: done." in page
    assert "Moved." in page
    assert "it is as I meant" in page


def test_it_says_what_changed_since_she_last_looked(hung: Hung) -> None:
    assert "You have seen no earlier state" in read(hung)
    assert "You have seen no earlier state" in read(hung)  # a look again is no change
    newer = hung.next_up()
    change = {"x": 0.1, "y": 0.2, "width": 0.1, "height": 0.1, "area": 0.01}
    Comparison.objects.filter(before=hung.revision, after=newer).delete()
    Comparison.objects.create(
        before=hung.revision,
        after=newer,
        recipe=recipe_of(hung.revision, newer),
        work=LeasedWork.State.DONE,
        changes=[change | {"mean": 6.0, "peak": 9.0}],
    )
    page = read(hung)
    assert "at sketch, revision 1" in page
    assert "Measured: 1 change." in page
    assert "left, top: 51 x 25 mm, not asked for" in page
    assert "The words are the same." in page
    assert Looked.objects.filter(person=hung.cast.author).count() == 2


def test_notes_of_the_house_are_not_in_her_letter(hung: Hung) -> None:
    hung.note(hung.cast.art_director, words="Marzipan seagull.")
    assert "Marzipan" not in read(hung)


def test_the_letter_works_without_scripts_and_needs_little(
    hung: Hung, settings: Settings
) -> None:
    """The first view: page, styles and one small picture within 150 kB."""
    house_initials(hung)
    page = read(hung)
    body = page.split("<main")[1].split("</main>")[0]
    assert "<script" not in body
    assert "data-enliven" not in body
    root = Path(settings.BASE_DIR)
    styles = re.findall(r'href="/static/(css/[\w.]+)"', page)
    weight = len(page.encode()) + sum(
        (root / "static" / one).stat().st_size for one in styles
    )
    small_picture = 11_000  # the most that repro makes a small picture
    assert weight + small_picture < 150_000


def test_the_list_names_what_waits_and_what_is_new(hung: Hung) -> None:
    her = looks(hung.cast.author)
    assert "New since you looked." in her.get("/rooms/letters/").content.decode()
    read(hung)
    assert "No letter waits here." in her.get("/rooms/letters/").content.decode()
    house_initials(hung)
    assert (
        "Words waits for your initial." in her.get("/rooms/letters/").content.decode()
    )
    assert hung.room("letter") in her.get("/").content.decode()  # her desk leads there


def test_letters_take_the_same_few_queries(
    hung: Hung, book: Book, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    her = looks(hung.cast.author)
    for item in book.items.filter(story=True):
        make.at(item, Stage.SKETCH, Standing.HUNG)
        if item != hung.item:
            make.revision(of=item, by=hung.cast.illustrator, number=1)
    with django_assert_max_num_queries(18):
        her.get("/rooms/letters/")
    for number in range(12):
        draft = NoteDraft("comment", f"Remark {number}.", "", [])
        event = make.event()
        notes.raise_note(
            by=hung.cast.author, on=hung.revision, draft=draft, event=event
        )
    with django_assert_max_num_queries(34):
        her.get(hung.room("letter"))


def test_nobody_else_reads_her_letters(hung: Hung) -> None:
    assert looks(hung.cast.editor).get(hung.room("letter")).status_code == 403
    assert looks(hung.cast.stranger).get(hung.room("letter")).status_code == 404
    assert Client().get(hung.room("letter")).status_code == 302
