from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from board.permits import Role
from board.revisions.models import Revision
from board.slips.actions import notes, sheets
from board.tissue.models import Note
from tests import make
from tests.viewing.conftest import Hung, everybody, looks

CEILING = 27  # with reference pictures and what wants another look


def page_of(hung: Hung, role: Role, name: str = "item") -> str:
    client = looks(everybody(hung.cast)[role])
    answer = client.get(hung.room(name))
    assert answer.status_code == 200
    return unescape(answer.content.decode())


@pytest.mark.parametrize("role", list(Role))
def test_everybody_on_the_book_sees_the_standing_and_why_it_is_not_ok(
    hung: Hung, role: Role
) -> None:
    page = page_of(hung, role)
    assert "hung" in page
    assert "Why not OK?" in page
    assert "has not initialled fit" in page


def test_a_stranger_learns_nothing(hung: Hung) -> None:
    for name in ("item", "parts", "pictures", "light-table", "item-daybook"):
        assert looks(hung.cast.stranger).get(hung.room(name)).status_code == 404


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.AUTHOR, Role.ILLUSTRATOR])
def test_the_room_asks_as_many_queries_for_two_hundred_notes_as_for_two(
    hung: Hung, role: Role
) -> None:
    client = looks(everybody(hung.cast)[role])
    for _ in range(2):
        hung.note(hung.cast.art_director, sort="comment")
    client.get(hung.room())
    with CaptureQueriesContext(connection) as few:
        client.get(hung.room())
    one = Note.objects.filter(item=hung.item).first()
    assert one is not None
    copies = [
        Note(
            item=one.item,
            stage=one.stage,
            raised_stage=one.stage,
            made_on=one.made_on,
            by=one.by,
            role=one.role,
            facet=one.facet,
            sort="suggestion",
            words=f"Copy {number}",
            mark="box",
            points=one.points,
            state=Note.State.OPEN,
            raised_at=one.raised_at,
            event=make.event(),
        )
        for number in range(200)
    ]
    Note.objects.bulk_create(copies)
    with CaptureQueriesContext(connection) as many:
        client.get(hung.room())
    assert len(many) <= len(few) + 1  # replies are fetched once there are notes
    assert len(many) <= CEILING


def test_a_row_carries_all_the_tissue_draws(hung: Hung) -> None:
    note = hung.note(hung.cast.art_director)
    page = page_of(hung, Role.EDITOR)
    assert f'data-key="{note.key}"' in page
    assert 'data-mark="box"' in page
    assert 'data-points="0.34000,0.30000 0.43000,0.48000"' in page


def test_the_artist_sees_no_note_before_it_is_on_a_sheet(hung: Hung) -> None:
    note = hung.note(hung.cast.art_director, words="Turn her to us.")
    assert "Turn her to us." not in page_of(hung, Role.ILLUSTRATOR)
    sheets.issue_sheet(by=hung.cast.art_director, item=hung.item, event=make.event())
    page = page_of(hung, Role.ILLUSTRATOR)
    assert "Turn her to us." in page
    assert f"{note.by.initials}" in page
    assert "1.1" in page


def test_an_authors_waiting_note_is_the_editors_and_hers_alone(hung: Hung) -> None:
    hung.note(hung.cast.author, words="It was a Tuesday.")
    for role in Role:
        seen = "It was a Tuesday." in page_of(hung, role)
        assert seen is (role in {Role.AUTHOR, Role.EDITOR}), role


def test_a_superseded_revision_says_so_and_names_the_current_one(hung: Hung) -> None:
    first = hung.revision
    hung.next_up()
    client = looks(hung.cast.editor)
    old = unescape(client.get(hung.room() + f"?revision={first.key}").content.decode())
    assert "SUPERSEDED" in old
    assert "sketch, revision 2" in old
    assert "SUPERSEDED" not in unescape(client.get(hung.room()).content.decode())
    # Nobody initials a superseded revision: no receipt goes out with it.
    assert 'name="receipt"' not in old


def test_the_folder_is_the_artists_alone(hung: Hung) -> None:
    hidden = make.revision(of=hung.item, by=hung.cast.illustrator)
    asked = hung.room() + f"?revision={hidden.key}"
    assert looks(hung.cast.illustrator).get(asked).status_code == 200
    assert looks(hung.cast.art_director).get(asked).status_code in {403, 404}
    assert "in the folder" not in page_of(hung, Role.ART_DIRECTOR)


def test_a_note_made_on_an_old_revision_says_where_it_was_made(hung: Hung) -> None:
    hung.note(hung.cast.editor)
    hung.next_up()
    page = page_of(hung, Role.DESIGNER)
    assert "made on sketch, revision 1" in page


def test_a_note_without_a_known_place_is_listed_and_says_so(hung: Hung) -> None:
    note = hung.note(hung.cast.editor)
    Note.objects.filter(pk=note.pk).update(place_unknown=True)
    page = page_of(hung, Role.DESIGNER)
    assert "place unknown" in page
    assert 'data-points=""' in page


def test_parts_are_the_same_fragments_the_page_is_made_of(hung: Hung) -> None:
    hung.note(hung.cast.editor)
    parts = page_of(hung, Role.EDITOR, "parts")
    for name in ("standing", "band", "notes", "slip"):
        assert f'data-part="{name}"' in parts
    assert "<html" not in parts


def test_words_of_people_are_escaped_and_read_in_their_own_direction(
    hung: Hung,
) -> None:
    hung.note(hung.cast.editor, words='<script>x</script> "שלום" é')
    answer = looks(hung.cast.editor).get(hung.room()).content.decode()
    assert "<script>x" not in answer
    assert 'dir="auto"' in answer
    assert "שלום" in answer


def test_a_withdrawn_note_moves_to_the_ended_ones(hung: Hung) -> None:
    note = hung.note(hung.cast.editor)
    notes.withdraw(by=hung.cast.editor, note=note, event=make.event())
    page = page_of(hung, Role.EDITOR)
    assert "Ended: 1" in page
    assert 'data-ended="yes"' in page


def test_the_room_says_how_far_a_picture_lies_off_the_stages_first(hung: Hung) -> None:
    client = looks(hung.cast.author)
    assert "residual" not in client.get(hung.room()).content.decode()
    Revision.objects.filter(pk=hung.revision.pk).update(residual_mm=0.34)
    page = unescape(client.get(hung.room()).content.decode())
    assert "checked against the stage's first, residual 0.3 mm" in page
