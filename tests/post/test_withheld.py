"""An author's note that was not passed on reaches nobody by any way out of the board.

Her path: it waits with the editor, who passes it on or declines it with a reason; she
reads its fate either way. Here every way out is looked at as the artist, the art director
and the author: mails, calendars, letters, the record on page and paper, numbers and gaps.
"""

from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Person
from board.daybook.queries import entries_of
from board.post.actions import look_round
from board.post.actions.wishes import make_feed
from board.post.models import Outgoing, Reached
from board.post.queries import letters
from board.slips.actions import notes
from board.slips.queries.events import events_for
from tests import make
from tests.post.conftest import Table, later

pytestmark = pytest.mark.django_db
SECRET, WHY = "Marzipan seagull forty-one.", "Copper thistle eighty-three."


def ways_out(table: Table, who: Person) -> dict[str, str]:
    """All that leaves the board for this reader, as text."""
    client = Client()
    client.force_login(who)
    digest = letters.digest(who, later(0))
    pdf = client.get(reverse("viewing:book-daybook-pdf", args=[table.book.key])).content
    pages = PdfReader(BytesIO(pdf)).pages
    return {
        "digest": f"{digest.subject} {digest.says}" if digest else "",
        "calendar": Client()
        .get(reverse("post:calendar", args=[make_feed(who)]))
        .content.decode(),
        "record": client.get(reverse("viewing:book-daybook", args=[table.book.key]))
        .content.decode()
        .split("<main")[1],
        "print": "\n".join(page.extract_text() for page in pages),
        "events": str(events_for(who, table.book, since=0, limit=500)),
    }


@pytest.fixture
def learnt(table: Table) -> None:
    last = entries_of(table.book.key).last()
    assert last is not None
    Reached.objects.create(book=table.book, number=last.number)


@pytest.mark.parametrize("name", ["illustrator", "art_director"])
def test_what_leaves_the_board_is_the_same_with_and_without_the_note(
    table: Table, name: str, learnt: None
) -> None:
    who: Person = getattr(table.cast, name)
    before = ways_out(table, who)
    waiting = table.note(table.cast.author, words=SECRET)
    declined = table.note(table.cast.author, words=SECRET)
    event = make.event()
    notes.decline(by=table.cast.editor, note=declined, reason=WHY, event=event)
    look_round(later(1))
    assert not Outgoing.objects.filter(person=who, kind="at once").exists()
    after = ways_out(table, who)
    assert after == before
    everything = " ".join(after.values())
    assert not any(
        one in everything for one in (SECRET, WHY, waiting.key, declined.key)
    )


def test_the_editor_alone_is_mailed_that_it_waits_and_not_its_words(
    table: Table, learnt: None
) -> None:
    table.note(table.cast.author, words=SECRET)
    look_round(later(1))
    rows = Outgoing.objects.filter(kind="at once")
    assert [row.person for row in rows] == [table.cast.editor]
    digest = letters.digest(table.cast.editor, later(2))
    assert digest is not None
    assert "1 author's note to pass on or decline" in digest.text
    assert "Marzipan" not in digest.text + digest.html


def test_the_author_reads_the_fate_of_each_of_hers_and_no_note_of_the_house(
    table: Table,
) -> None:
    declined = table.note(table.cast.author, words="Make the gull pink.")
    event = make.event()
    notes.decline(by=table.cast.editor, note=declined, reason=WHY, event=event)
    passed = table.note(table.cast.author, words="Light the lamp.")
    notes.pass_on(by=table.cast.editor, note=passed, words="", event=make.event())
    table.note(table.cast.art_director, words=SECRET)
    her = Client()
    her.force_login(table.cast.author)
    address = reverse("viewing:letter", args=[table.item.key])
    page = her.get(address).content.decode()
    assert WHY in page
    assert "Make the gull pink." in page
    assert "It was passed on" in page
    assert SECRET not in page + " ".join(ways_out(table, table.cast.author).values())
    artist = Client()
    artist.force_login(table.cast.illustrator)
    assert artist.get(address).status_code == 403
