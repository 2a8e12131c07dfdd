"""Words and pictures side by side, and the colour script."""

from html import unescape
from pathlib import Path

import cv2
import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from sklearn.cluster import KMeans

from accounts.models import Person
from board.books.actions.boxes import Place, place_box
from board.books.actions.describing import say_what_picture_adds
from board.books.models import Book, Box, Item
from board.errors import NotPermitted, Stale
from board.repro.colours import keep_colours
from board.repro.sheets import SheetSize
from board.repro.store import new_picture
from board.revisions.models import Revision
from board.revisions.queries import sheet_of
from board.slips.actions.texts import make_text_version
from board.wall.queries.script import script_of
from board.wall.queries.tracks import tracks_of
from board.wall.rules import curve, runs_of, swatches
from tests import make
from tests.conftest import Cast


def test_a_run_is_as_long_as_the_items_it_joins() -> None:
    assert runs_of([False, True, True, False, False]) == {0: 3, 1: 3, 2: 3}
    assert runs_of([False, False, True]) == {1: 2, 2: 2}
    assert runs_of([]) == {}


def test_swatches_lie_end_to_end_and_curves_point_up() -> None:
    laid = swatches([("#000000", 0.75), ("#FFFFFF", 0.25)])
    assert [(one.begins, one.percent) for one in laid] == [(0.0, 75), (0.75, 25)]
    assert curve([(0.5, 1.0), (1.5, 0.0)]) == "0.50,0.000 1.50,1.000"


def up_with(item: Item, by: Person, art: np.ndarray) -> Revision:
    """Hang a picture whose laid copy shows this art inside the trim."""
    up = make.revision(of=item, by=by, number=1)
    sheet = sheet_of(item)
    with new_picture(up.picture) as folder:
        keep_colours(Path(folder), _on_grey(art, sheet), sheet)
    return up


def _on_grey(art: np.ndarray, sheet: SheetSize) -> np.ndarray:
    wide, high = (round(side * 2) for side in (sheet.width_mm, sheet.height_mm))
    around = round(sheet.around_mm * 2)
    inner = cv2.resize(art, (wide, high), interpolation=cv2.INTER_NEAREST)
    framed: np.ndarray = cv2.copyMakeBorder(
        inner, around, around, around, around, cv2.BORDER_CONSTANT, value=(119,) * 3
    )
    return framed


def halves(left: tuple[int, int, int], right: tuple[int, int, int]) -> np.ndarray:
    art = np.zeros((100, 200, 3), np.uint8)
    art[:, :120], art[:, 120:] = left, right
    return art


@pytest.fixture
def story(book: Book) -> list[Item]:
    return list(book.items.filter(story=True).order_by("position"))


def test_the_script_shows_the_colours_that_are_there(
    book: Book, cast: Cast, story: list[Item]
) -> None:
    art = halves((224, 165, 38), (47, 108, 115))
    up_with(story[0], cast.illustrator, art)
    strip = next(
        one for one in script_of(book, cast.editor).strips if one.item == story[0]
    )
    assert strip.colours is not None
    named = [(one.hex, one.percent) for one in strip.swatches if one.percent]
    assert named == [
        ("#E0A526", 60),
        ("#2F6C73", 40),
    ]
    # scikit-learn's own clusters, counted on the same picture (general-purpose peer).
    peer = KMeans(2, n_init=2, random_state=1).fit(art.reshape(-1, 3).astype(float))
    shares = np.bincount(peer.labels_) / peer.labels_.size
    assert sorted(shares) == pytest.approx([0.4, 0.6], abs=0.001)
    assert sum(strip.tones) == 100


def test_the_same_composition_three_times_running_is_pointed_out(
    book: Book, cast: Cast, story: list[Item]
) -> None:
    for number, item in enumerate(story[:3]):
        shade = 40 + 10 * number
        up_with(item, cast.illustrator, halves((shade,) * 3, (230, 220, 200)))
    other = np.rot90(halves((20, 20, 20), (230, 220, 200)), axes=(0, 1)).copy()
    up_with(story[3], cast.illustrator, other)
    rows = {row.item.pk: row.flags for row in tracks_of(book, cast.editor).rows}
    for item in story[:3]:
        assert "the same composition 3 times running" in rows[item.pk]
    assert not any("composition" in flag for flag in rows[story[3].pk])


def test_a_row_says_words_seconds_and_what_to_look_at(
    book: Book, cast: Cast, story: list[Item]
) -> None:
    item = story[1]
    words = {item.key: "word " * 90}
    make_text_version(
        by=cast.editor,
        book=book,
        words=words,
        reasons={"reason": "first"},
        event=make.event(),
    )
    place = Place(0.46, 0.3, 0.09, 0.18)
    place_box(
        item,
        place,
        by=cast.art_director,
        sort=Box.Sort.FOCAL,
        label="Granna's head",
        event=make.event(),
    )
    row = next(one for one in tracks_of(book, cast.editor).rows if one.item == item)
    assert row.part.count == 90
    assert row.seconds == pytest.approx(90 * 60 / 150 + 8)
    # (.46, .09 wide) reaches .55: over the band of 9.525 mm each side of the fold.
    assert row.flags[0].startswith("over 80 words")
    assert row.flags[1:] == ("Granna's head in the gutter band",)
    wordless = tracks_of(book, cast.editor).rows
    assert {r.flags for r in wordless if r.item == story[2]} == {("picture only",)}
    assert {r.flags for r in wordless if not r.item.story} == {()}


def test_illustrator_and_editor_write_what_the_picture_adds_and_nobody_else(
    cast: Cast, item: Item
) -> None:
    kept = say_what_picture_adds(
        item,
        "A  heron walks\nahead.",
        by=cast.illustrator,
        version=item.version,
        event=make.event(),
    )
    assert kept.picture_adds == "A heron walks ahead."
    with pytest.raises(Stale):
        say_what_picture_adds(item, "Other.", by=cast.editor, version=item.version)
    with pytest.raises(NotPermitted):
        say_what_picture_adds(kept, "Mine.", by=cast.author, version=kept.version)


def client_of(who: Person) -> Client:
    client = Client()
    client.force_login(who)
    return client


def test_what_was_typed_stays_when_somebody_was_faster(
    book: Book, cast: Cast, item: Item
) -> None:
    url = reverse("wall:tracks", args=[book.key])
    sent = {
        "item": item.key,
        "version": "7",
        "words": "A heron.",
        "event": make.event(),
    }
    answer = client_of(cast.editor).post(url, sent)
    assert answer.status_code == 422
    assert "A heron." in unescape(answer.content.decode())
    sent["version"] = str(item.version)
    assert client_of(cast.editor).post(url, sent).status_code == 302


@pytest.mark.parametrize("name", ["tracks", "colours"])
def test_the_pages_take_the_same_few_queries_however_many_pictures(
    book: Book, cast: Cast, story: list[Item], name: str
) -> None:
    client, url = client_of(cast.editor), reverse(f"wall:{name}", args=[book.key])
    up_with(story[0], cast.illustrator, halves((10, 20, 30), (200, 180, 90)))
    client.get(url)
    with CaptureQueriesContext(connection) as few:
        client.get(url)
    for item in story[1:6]:
        up_with(item, cast.illustrator, halves((10, 20, 30), (200, 180, 90)))
    with CaptureQueriesContext(connection) as many:
        assert client.get(url).status_code == 200
    assert len(many) <= len(few)
    assert len(many) <= 12
