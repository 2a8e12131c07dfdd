from html import unescape

from django.urls import reverse

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
