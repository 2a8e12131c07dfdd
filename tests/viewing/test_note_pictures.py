"""Reference pictures under notes: hostile files, sight and whose they are."""

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from board.books.rules import Stage, Standing
from board.errors import NotFound, NotPermitted
from board.repro.store import picture_folder
from board.slips.actions import notes
from board.slips.actions.references import MOST, add_picture, take_picture_off
from board.slips.queries.record import daybook_for
from board.tissue.models import Note, NotePicture
from board.tissue.queries import picture_for
from tests import make
from tests.viewing.conftest import Hung, looks


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    path = tmp_path / "heron.jpg"
    Image.new("RGB", (64, 40), "#8c3b3b").save(path, comment=b"from my phone")
    return path


def send(
    hung: Hung, note: Note, path: Path, name: str = "heron.jpg"
) -> tuple[int, str]:
    """Send a file by the note's own form; status and what is said."""
    file = SimpleUploadedFile(name, path.read_bytes())
    address = reverse("viewing:note-act", args=[note.key, "picture"])
    sent = {"event": make.event(), "picture": file}
    answer = looks(note.by).post(address, sent, follow=True)
    return answer.status_code, answer.content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_picture_is_taken_in_apart_and_lies_under_its_note(
    hung: Hung, heron: Path
) -> None:
    note = hung.note(hung.cast.art_director)
    status, page = send(hung, note, heron)
    assert status == 200
    assert "Reference picture 1: heron.jpg" in page
    kept = NotePicture.objects.get()
    assert (kept.width, kept.height) == (64, 40)
    seen = picture_folder(f"{kept.key}-glimpse") / "medium.jpg"
    assert b"from my phone" not in seen.read_bytes()


@pytest.mark.django_db(transaction=True)
def test_what_is_no_picture_is_refused_in_words_and_nothing_is_kept(
    hung: Hung, tmp_path: Path
) -> None:
    note = hung.note(hung.cast.art_director)
    trap = tmp_path / "trap.jpg"
    trap.write_bytes(b"<svg onload='alert(1)'/>" * 40)
    status, page = send(hung, note, trap, "trap.jpg")
    assert status == 422
    assert "Not done yet" in page
    assert not NotePicture.objects.exists()


def test_only_the_writer_adds_and_never_more_than_a_few(
    hung: Hung, heron: Path
) -> None:
    note = hung.note(hung.cast.art_director)
    with pytest.raises(NotPermitted):
        add_picture(
            by=hung.cast.editor, note=note, path=heron, filename="a.jpg",
            event=make.event(),
        )  # fmt: skip
    for _ in range(MOST):
        make.note_picture(under=note)
    status, page = send(hung, note, heron)
    assert status == 409
    assert "Take one off first" in page


def test_a_picture_is_seen_by_whoever_sees_its_note_and_by_nobody_else(
    hung: Hung,
) -> None:
    cast = hung.cast
    waiting = hung.note(cast.author, sort="query", words="Barefoot?")
    picture = make.note_picture(under=waiting)
    assert picture_for(cast.editor, picture.key).pk == picture.pk
    for who in (cast.art_director, cast.illustrator, cast.stranger):
        with pytest.raises(NotFound):
            picture_for(who, picture.key)
    notes.pass_on(by=cast.editor, note=waiting, words="", event=make.event())
    assert picture_for(cast.art_director, picture.key).pk == picture.pk
    with pytest.raises(NotFound):
        picture_for(cast.illustrator, picture.key)


def test_a_picture_taken_off_is_gone_and_the_daybook_tells_of_it(hung: Hung) -> None:
    cast = hung.cast
    note = hung.note(cast.art_director)
    picture = make.note_picture(under=note)
    with pytest.raises(NotPermitted):
        take_picture_off(by=cast.designer, picture=picture, event=make.event())
    take_picture_off(by=cast.art_director, picture=picture, event=make.event())
    with pytest.raises(NotFound):
        picture_for(cast.art_director, picture.key)
    told = [entry.sentence for entry in daybook_for(cast.art_director, hung.book)]
    assert "reference picture taken off: direction, heron.jpg" in told
    heard = [entry.sentence for entry in daybook_for(cast.author, hung.book)]
    assert not any("reference picture" in sentence for sentence in heard)


def test_the_editor_may_take_a_picture_off_a_note_that_waits_with_her(
    hung: Hung,
) -> None:
    make.at(hung.item, Stage.SKETCH, Standing.HUNG)
    waiting = hung.note(hung.cast.author, words="Like this one.")
    picture = make.note_picture(under=waiting)
    take_picture_off(by=hung.cast.editor, picture=picture, event=make.event())
    assert NotePicture.objects.get().taken_off_at
