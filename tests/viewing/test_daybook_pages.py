from html import unescape
from io import BytesIO

from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Person
from board.daybook.models import NameInRecord
from board.viewing.rules.record import CAUTION, PRACTICE
from tests.viewing.conftest import Hung, looks


def test_the_daybook_tells_who_did_what_in_the_readers_zone_and_utc(
    hung: Hung,
) -> None:
    reader = hung.cast.editor
    reader.time_zone = "Pacific/Auckland"
    reader.save()
    page = unescape(looks(reader).get(hung.room("item-daybook")).content.decode())
    assert "The illustrator" in page
    assert "sent up sketch, revision 1" in page
    assert "Pacific/Auckland" in page
    assert "UTC" in page
    assert hung.revision.short_code in page


def test_a_waiting_authors_note_is_not_in_the_artists_daybook(hung: Hung) -> None:
    hung.note(hung.cast.author, words="It was a Tuesday.")
    address = reverse("viewing:book-daybook", args=[hung.book.key])
    artist = unescape(looks(hung.cast.illustrator).get(address).content.decode())
    editor = unescape(looks(hung.cast.editor).get(address).content.decode())
    assert "note raised" not in artist
    assert "note raised" in editor


def test_a_zone_that_is_no_zone_falls_back_to_utc(hung: Hung) -> None:
    reader = hung.cast.editor
    reader.time_zone = "Nowhere/Else"
    reader.save()
    answer = looks(reader).get(hung.room("item-daybook"))
    assert answer.status_code == 200


def pdf_words(hung: Hung, who: Person, name: str, key: str) -> str:
    body = looks(who).get(reverse(f"viewing:{name}", args=[key])).content
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(body)).pages)


def test_the_record_prints_who_as_what_when_and_on_which_state(hung: Hung) -> None:
    reader = hung.cast.editor
    reader.time_zone = "Pacific/Auckland"
    reader.save()
    note = hung.note(hung.cast.art_director)
    words = pdf_words(hung, reader, "item-daybook-pdf", hung.item.key)
    assert "The illustrator, illustrator on 8-9: sent up sketch, revision 1" in words
    up = hung.revision.sent_up_at
    assert up is not None
    assert f"{up:%Y-%m-%d %H:%M} UTC" in words
    assert f"picture {hung.revision.short_code}" in words
    assert "Pacific/Auckland" in words
    assert "note raised" in words
    assert note.words not in words  # the record names it, the note sheet tells it
    for sentence in (CAUTION, PRACTICE):
        assert " ".join(sentence.split()) in " ".join(words.split())


def test_the_record_of_the_whole_book_has_what_each_item_has(hung: Hung) -> None:
    words = pdf_words(hung, hung.cast.editor, "book-daybook-pdf", hung.book.key)
    assert "on 8-9: sent up sketch, revision 1" in words


def test_a_withheld_note_leaves_no_word_and_no_gap_in_a_print(hung: Hung) -> None:
    artist = hung.cast.illustrator
    before = pdf_words(hung, artist, "book-daybook-pdf", hung.book.key)
    hung.note(hung.cast.author, words="Marzipan seagull.")
    assert pdf_words(hung, artist, "book-daybook-pdf", hung.book.key) == before


def test_a_print_of_words_from_right_to_left_is_made(hung: Hung) -> None:
    editor = hung.cast.editor
    NameInRecord.objects.update_or_create(
        person_key=hung.cast.illustrator.key,
        defaults={"name": "ليلى حداد", "initials": "LH"},
    )
    body = looks(editor).get(hung.room("item-daybook-pdf")).content
    assert body.startswith(b"%PDF")
    assert PdfReader(BytesIO(body)).pages[0].images  # drawn, in its own order
