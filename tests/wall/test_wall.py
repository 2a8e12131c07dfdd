"""The wall shows every item in order, as far as each reader sees, and stays quick."""

import itertools

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from accounts.models import Person
from board.books.models import Book, Item
from board.books.rules import Stage, Standing
from board.permits import Facet, Role
from board.revisions.models import Revision
from board.slips.actions import initials, stages
from board.slips.models import Initial, Slip
from board.slips.queries.receipts import receipt_for
from board.tissue.models import Note
from tests import make
from tests.conftest import Cast

pytestmark = pytest.mark.django_db
_count = itertools.count(1)


def note(
    item: Item,
    *,
    by: Person,
    role: Role = Role.ART_DIRECTOR,
    sort: Note.Class = Note.Class.DIRECTION,
    state: Note.State = Note.State.OPEN,
    issued: bool = False,
) -> Note:
    """An open note on the item's sketch, with a place."""
    number = next(_count)
    up = item.revisions.get(stage=Stage.SKETCH, number=1)
    return Note.objects.create(
        item=item,
        stage=Stage.SKETCH,
        raised_stage=Stage.SKETCH,
        made_on=up,
        by=by,
        role=role,
        facet=Facet.ART,
        sort=sort,
        words="Longer ears.",
        mark=Note.Mark.POINT,
        points=[[(number % 50) / 50, 0.5]],
        state=state,
        raised_at=make.NOW,
        event=make.event(),
        issued_at=make.NOW if issued else None,
    )


def hang(item: Item, by: Person) -> None:
    make.at(item, Stage.THUMBNAILS, Standing.OK)
    make.at(item, Stage.SKETCH, Standing.HUNG)
    make.revision(of=item, by=by, number=1)


def initial(item: Item, *, by: Person, listing: Note) -> None:
    """A live OK as corrected on the item's first revision, with one line listed."""
    up = item.revisions.get(number=1)
    slip = Slip.objects.create(
        item=item, stage=Stage.SKETCH, revision=up, opened_at=make.NOW
    )
    given = Initial.objects.create(
        slip=slip,
        facet=Facet.ART,
        role=Role.ART_DIRECTOR,
        person=by,
        kind=Initial.Kind.AS_CORRECTED,
        seen_sha256=up.sha256,
        bound_sha256=up.sha256,
        receipt="receipt",
        event=make.event(),
        at=make.NOW,
    )
    given.listed.add(listing)


def page(client: Client, book: Book, person: Person) -> str:
    client.force_login(person)
    answer = client.get(f"/wall/{book.key}/")
    assert answer.status_code == 200
    return answer.content.decode()


def test_every_item_hangs_in_page_order(client: Client, book: Book, cast: Cast) -> None:
    client.force_login(cast.author)
    wall = client.get(f"/wall/{book.key}/").context["wall"]
    labels = [hung.item.label for hung in wall]
    assert labels[:4] == ["1", "2-3", "4-5", "6-7"]
    assert labels[-3:] == ["32", "jacket", "case"]


def test_the_newest_revision_that_is_up_is_shown_never_the_folder(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    hang(item, cast.illustrator)
    folder = make.revision(of=item, by=cast.illustrator)
    up = item.revisions.get(number=1)
    for person in (cast.illustrator, cast.author):
        shown = page(client, book, person)
        assert f"{up.picture}/small.webp" in shown
        assert folder.picture not in shown
    final = make.revision(of=item, by=cast.illustrator, stage=Stage.FINAL, number=1)
    assert f"{final.picture}/small.webp" in page(client, book, cast.author)


def test_counts_and_reasons_follow_each_readers_sight(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    hang(item, cast.illustrator)
    note(item, by=cast.art_director, issued=True)
    note(item, by=cast.art_director)
    note(
        item,
        by=cast.author,
        role=Role.AUTHOR,
        sort=Note.Class.QUERY,
        state=Note.State.WITH_EDITOR,
    )

    def counts(person: Person) -> dict[str, int]:
        client.force_login(person)
        wall = client.get(f"/wall/{book.key}/").context["wall"]
        hung = next(hung for hung in wall if hung.item == item)
        return {count.word: count.number for count in hung.counts}

    assert counts(cast.editor) == {"directions": 2, "query": 1}
    assert counts(cast.designer) == {"directions": 2}
    assert counts(cast.illustrator) == {"direction": 1}
    assert counts(cast.author) == {"query": 1}


def test_a_standing_is_a_word_and_a_paper_shape(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    hang(item, cast.illustrator)
    shown = page(client, book, cast.editor)
    assert "standings.svg#tacked" in shown
    assert '<span class="standing-word">hung</span>' in shown


def test_the_wall_is_closed_to_strangers_and_open_to_every_credit(
    client: Client, book: Book, cast: Cast
) -> None:
    for person in cast.by_role().values():
        assert page(client, book, person)
    client.force_login(cast.stranger)
    assert client.get(f"/wall/{book.key}/").status_code == 404
    assert client.get("/wall/none/").status_code == 404
    assert Client().get(f"/wall/{book.key}/").status_code == 302


@pytest.mark.parametrize("extent", [20, 48])
def test_the_wall_takes_the_same_few_queries_however_long_the_book(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries, extent: int
) -> None:
    book = make.book(extent=extent)
    director, artist = make.person(), make.person()
    make.credit(on=book, who=director, role=Role.ART_DIRECTOR)
    make.credit(on=book, who=artist, role=Role.ILLUSTRATOR)
    for item in book.items.all():
        hang(item, artist)
        notes = [note(item, by=director) for _ in range(5)]
        initial(item, by=director, listing=notes[0])
    client.force_login(director)
    with django_assert_max_num_queries(12):
        assert client.get(f"/wall/{book.key}/").status_code == 200


def test_a_title_in_any_script_stands_in_its_own_direction(client: Client) -> None:
    book = make.book(title="الرسالة السابعة")
    person = make.person()
    make.credit(on=book, who=person, role=Role.EDITOR)
    assert '<h1 dir="auto">الرسالة السابعة</h1>' in page(client, book, person)


def labels(client: Client, book: Book, query: str) -> list[str]:
    answer = client.get(f"/wall/{book.key}/?{query}")
    assert answer.status_code == 200
    return [hung.item.label for hung in answer.context["wall"]]


def test_the_wall_can_be_hung_with_what_is_asked_for_alone(
    client: Client, book: Book, cast: Cast
) -> None:
    for label in ("8-9", "10-11", "12-13"):
        hang(book.items.get(label=label), cast.illustrator)
    note(book.items.get(label="10-11"), by=cast.art_director)
    client.force_login(cast.editor)
    everything = labels(client, book, "size=small&look=squint")
    assert len(everything) == book.items.filter(set_aside=False).count()
    assert labels(client, book, "only=hung") == ["8-9", "10-11", "12-13"]
    assert labels(client, book, "only=directions") == ["10-11"]
    assert labels(client, book, "only=mine") == ["8-9", "10-11", "12-13"]
    assert len(labels(client, book, "only=nonsense&size=huge")) == len(everything)


def test_the_artist_finds_no_unissued_direction_by_hanging_those_alone(
    client: Client, book: Book, cast: Cast
) -> None:
    hang(book.items.get(label="10-11"), cast.illustrator)
    note(book.items.get(label="10-11"), by=cast.art_director)
    client.force_login(cast.illustrator)
    assert labels(client, book, "only=directions") == []


def test_the_last_ok_hangs_where_a_newer_picture_is_still_looked_at(
    client: Client, book: Book, cast: Cast, item: Item
) -> None:
    make.at(item, Stage.THUMBNAILS, Standing.AT_THE_TABLE)
    first = make.revision(of=item, by=cast.illustrator, stage=Stage.THUMBNAILS)
    event = make.event
    stages.send_up(by=cast.illustrator, revision=first, event=event())
    for by, facet in ((cast.editor, "story"), (cast.art_director, "art")):
        receipt = receipt_for(by, item, Revision.objects.get(pk=first.pk))
        initials.initial(by=by, item=item, facet=facet, receipt=receipt, event=event())
    make.at(item, Stage.SKETCH, Standing.AT_THE_TABLE)
    second = make.revision(of=item, by=cast.illustrator)
    stages.send_up(by=cast.illustrator, revision=second, event=event())
    client.force_login(cast.editor)
    for query, called in (
        ("", "sketch, revision 1"),
        ("hang=agreed", "thumbnails, revision 1"),
    ):
        answer = client.get(f"/wall/{book.key}/?{query}")
        shown = {one.item.label: one.called for one in answer.context["wall"]}
        assert shown[item.label] == called
    answer = client.get(f"/wall/{book.key}/?hang=agreed")
    other = next(one for one in answer.context["wall"] if one.item.label == "10-11")
    assert other.called == "nothing up yet"
