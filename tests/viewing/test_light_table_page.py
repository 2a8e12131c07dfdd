from html import unescape
from typing import Any

from django.urls import reverse

from board.books.rules import Stage, Standing
from board.light_table.models import Comparison
from board.repro.models import LeasedWork
from board.revisions.models import Revision
from board.tissue.models import Note
from tests import make
from tests.viewing.conftest import Hung, looks

CHANGES = [
    {
        "x": 0.2,
        "y": 0.1,
        "width": 0.1,
        "height": 0.2,
        "area": 0.02,
        "mean": 12.34,
        "peak": 30.0,
    }
]


def test_one_revision_alone_is_not_laid_over_anything(hung: Hung) -> None:
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert "Two laid revisions are needed" in page


def test_the_newest_two_lie_on_the_table_and_any_pair_can_be_asked_for(
    hung: Hung,
) -> None:
    second = hung.next_up()
    third = hung.next_up()
    client = looks(hung.cast.author)
    page = unescape(client.get(hung.room("light-table")).content.decode())
    assert f'value="{second.key}" selected' in page
    assert f'value="{third.key}" selected' in page
    asked = f"?before={hung.revision.key}&after={third.key}&view=slide"
    page = unescape(client.get(hung.room("light-table") + asked).content.decode())
    assert f'value="{hung.revision.key}" selected' in page
    assert 'data-view="slide"' in page


def test_a_revision_in_the_folder_lies_only_on_the_artists_table(hung: Hung) -> None:
    hidden = make.revision(of=hung.item, by=hung.cast.illustrator)
    for who, there in ((hung.cast.illustrator, True), (hung.cast.editor, False)):
        page = looks(who).get(hung.room("light-table")).content.decode()
        assert (hidden.key in page) is there


def test_comparing_is_asked_for_by_a_press_and_listed_by_size(hung: Hung) -> None:
    second = hung.next_up()
    client = looks(hung.cast.editor)
    pair = f"?before={hung.revision.key}&after={second.key}"
    client.post(hung.room("comparison") + pair)
    row = Comparison.objects.get(before=hung.revision, after=second)
    page = unescape(
        client.get(
            hung.room("comparison") + pair, headers={"Board-Part": "yes"}
        ).content.decode()
    )
    assert "data-again" in page
    Comparison.objects.filter(pk=row.pk).update(
        work=LeasedWork.State.DONE, changes=CHANGES, noise=0.4
    )
    page = unescape(
        client.get(
            hung.room("comparison") + pair, headers={"Board-Part": "yes"}
        ).content.decode()
    )
    assert "data-again" not in page
    assert "51 x 51 mm" in page
    assert "mean 12.3, peak 30.0 dE00" in page
    assert 'data-x="0.200000"' in page


def test_the_page_warns_of_flicker_and_of_colour_on_screens(hung: Hung) -> None:
    hung.next_up()
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert "flicker" in page
    assert "estimate" in page


def measured(hung: Hung) -> Comparison:
    """Two revisions compared: one place changed."""
    second = hung.next_up()
    client = looks(hung.cast.editor)
    pair = f"?before={hung.revision.key}&after={second.key}"
    client.post(hung.room("comparison") + pair)
    row = Comparison.objects.get(before=hung.revision, after=second)
    Comparison.objects.filter(pk=row.pk).update(
        work=LeasedWork.State.DONE, changes=CHANGES, noise=0.4
    )
    return row


def test_a_change_says_who_asked_for_it_or_that_nobody_did(hung: Hung) -> None:
    measured(hung)
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert "not asked" in page
    note = hung.note(hung.cast.editor, points=[[0.15, 0.05], [0.35, 0.35]])
    Note.objects.filter(pk=note.pk).update(raised_at=make.NOW)
    page = unescape(
        looks(hung.cast.editor).get(hung.room("light-table")).content.decode()
    )
    assert f"#note-{note.key}" in page


def test_the_artist_says_a_word_on_a_change_and_everybody_reads_it(
    hung: Hung,
) -> None:
    row = measured(hung)
    pair = f"?before={row.before.key}&after={row.after.key}"
    address = hung.room("change", 1) + pair
    artist = looks(hung.cast.illustrator)
    assert artist.get(address).status_code == 200
    sent = {"event": make.event(), "words": "A gift: the moon."}
    assert artist.post(address, sent).status_code == 302
    page = unescape(
        looks(hung.cast.author).get(hung.room("light-table") + pair).content.decode()
    )
    assert "A gift: the moon." in page
    assert looks(hung.cast.editor).get(address).status_code == 403


def test_a_change_that_is_not_in_the_list_takes_no_word(hung: Hung) -> None:
    row = measured(hung)
    pair = f"?before={row.before.key}&after={row.after.key}"
    answer = looks(hung.cast.illustrator).post(
        hung.room("change", 9) + pair, {"event": make.event(), "words": "What?"}
    )
    assert answer.status_code == 422
    assert "not in the list" in unescape(answer.content.decode())


def test_before_sending_up_the_artist_sees_the_rehearsal(hung: Hung) -> None:
    hidden = make.revision(of=hung.item, by=hung.cast.illustrator)
    artist = looks(hung.cast.illustrator)
    address = hung.room("slip-act-on", "send_up", hidden.key)
    page = unescape(artist.get(address).content.decode())
    assert "Rehearsal" in page
    assert "Not measured yet" in page
    pair = f"?before={hung.revision.key}&after={hidden.key}"
    artist.post(hung.room("comparison") + pair)
    Comparison.objects.filter(after=hidden).update(
        work=LeasedWork.State.DONE, changes=CHANGES, noise=0.4
    )
    page = unescape(artist.get(address).content.decode())
    assert "Changed, not asked" in page
    assert artist.post(address, {"event": make.event()}).status_code == 302
    hidden.refresh_from_db()
    assert hidden.number == 2


def answered_done(hung: Hung, points: list[list[float]]) -> Note:
    """A line that says done, held against one measured change."""
    note = hung.note(hung.cast.art_director, points=points)
    Note.objects.filter(pk=note.pk).update(
        answer=Note.Answer.DONE, answered_by=hung.cast.illustrator, issued_at=make.NOW
    )
    measured(hung)
    note.refresh_from_db()
    return note


def test_a_row_says_how_much_of_its_place_changed_with_crops(hung: Hung) -> None:
    note = answered_done(hung, [[0.2, 0.1], [0.4, 0.3]])
    page = unescape(looks(hung.cast.art_director).get(hung.room()).content.decode())
    # Half of the note's place is covered by a change that covers all of its own box.
    assert "changed, 50 % of its place" in page
    assert "nothing measured changed" not in page
    form = looks(hung.cast.art_director).get(close_of(note))
    assert "nothing measured changed" not in form.content.decode()


def test_whoever_closes_a_line_that_says_done_reads_that_nothing_changed(
    hung: Hung,
) -> None:
    note = answered_done(hung, [[0.6, 0.6], [0.7, 0.8]])
    client = looks(hung.cast.art_director)
    page = unescape(client.get(hung.room()).content.decode())
    assert "<b>not changed</b>" in page
    assert "line says done; nothing measured changed there" in page
    assert "line says done; nothing" in client.get(close_of(note)).content.decode()


def test_a_row_says_why_nobody_can_say(hung: Hung) -> None:
    hung.note(hung.cast.art_director)
    client = looks(hung.cast.art_director)
    page = unescape(client.get(hung.room()).content.decode())
    assert "Its place on the current" not in page  # nothing is newer than the note
    hung.next_up()
    page = unescape(client.get(hung.room()).content.decode())
    assert "cannot say: the comparison is not ready" in page
    washes = {"stage": Stage.WASHES, "number": 1}
    Revision.objects.filter(item=hung.item, number=2).update(**washes)
    make.at(hung.item, Stage.SKETCH, Standing.OK)
    make.at(hung.item, Stage.WASHES, Standing.HUNG)
    page = unescape(client.get(hung.room()).content.decode())
    assert "cannot say: drawn against painted" in page


def test_between_drawn_and_painted_the_page_lists_the_boxes_to_look_at(
    hung: Hung,
) -> None:
    second = hung.next_up()
    washes = {"stage": Stage.WASHES, "number": 1}
    Revision.objects.filter(pk=second.pk).update(**washes)
    client = looks(hung.cast.author)
    page = unescape(client.get(hung.room("light-table")).content.decode())
    assert "colours are not compared" in page
    assert "No focal box and no type box" in page
    assert "Compare these two" not in page


def close_of(note: Note) -> str:
    return reverse("viewing:note-act", args=[note.key, "close"])


def test_the_room_tells_what_became_of_notes_in_few_queries(
    hung: Hung, django_assert_max_num_queries: Any
) -> None:
    for _ in range(8):
        hung.note(hung.cast.art_director)
    measured(hung)
    client = looks(hung.cast.art_director)
    with django_assert_max_num_queries(28):
        client.get(hung.room())


def test_the_light_table_asks_few_queries(
    hung: Hung, django_assert_max_num_queries: Any
) -> None:
    measured(hung)
    for _ in range(5):
        hung.note(hung.cast.art_director)
    client = looks(hung.cast.art_director)
    with django_assert_max_num_queries(25):
        client.get(hung.room("light-table"))
