"""Odd ones out, and colours that differ from the median."""

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000

from board.books.models import Book, Item
from board.continuity.actions import enter_thing, enter_values, mark_place
from board.continuity.queries import rows_of, unexplained
from board.continuity.rules import odd_ones, usual
from board.errors import NotPermitted, NotUnderstood, OffTheSheet
from board.repro.measuring import from_median, mean_colour
from board.repro.store import new_picture
from tests import make
from tests.conftest import Cast


def test_the_odd_one_out_is_the_value_that_others_do_not_have() -> None:
    values = {1: "left", 2: "Left ", 3: "right", 4: ""}
    assert usual(values) == "left"
    assert odd_ones(values) == [3]


def test_without_a_usual_value_each_is_odd() -> None:
    assert odd_ones({1: "left", 2: "right"}) == [1, 2]
    assert odd_ones({1: "left"}) == []


def test_an_odd_one_waits_until_somebody_says_why(book: Book, cast: Cast) -> None:
    thing = enter_thing(by=cast.editor, book=book, name="strap", event=make.event())
    items = {item.label: item for item in book.items.all()}
    values = {items[label].key: ("left", "") for label in ("8-9", "10-11", "12-13")}
    values[items["28-29"].key] = ("hung up", "")
    enter_values(by=cast.editor, thing=thing, values=values, event=make.event())
    assert [(odd.item.label, odd.usual) for odd in unexplained(book)] == [
        ("28-29", "left")
    ]
    said = {items["28-29"].key: ("hung up", "She is home.")}
    enter_values(by=cast.editor, thing=thing, values=said, event=make.event())
    assert unexplained(book) == []


def test_what_changes_by_plan_has_no_odd_ones(
    book: Book, cast: Cast, item: Item
) -> None:
    thing = enter_thing(
        by=cast.editor, book=book, name="letters", steady=False, event=make.event()
    )
    other = book.items.get(label="10-11")
    values = {item.key: ("7", ""), other.key: ("5", "")}
    enter_values(by=cast.editor, thing=thing, values=values, event=make.event())
    assert unexplained(book) == []
    assert len(rows_of(book)) == 1


def test_the_sheet_is_kept_by_those_who_draw_and_edit(
    book: Book, cast: Cast, item: Item
) -> None:
    with pytest.raises(NotPermitted):
        enter_thing(by=cast.publisher, book=book, name="coat", event=make.event())
    thing = enter_thing(by=cast.illustrator, book=book, name="coat", event=make.event())
    with pytest.raises(NotUnderstood, match="already"):
        enter_thing(by=cast.editor, book=book, name="Coat", event=make.event())
    with pytest.raises(OffTheSheet):
        mark_place(
            by=cast.editor,
            thing=thing,
            item=item,
            points=[[0, 0], [9, 9]],
            event=make.event(),
        )


def _picture(key: str, colour: tuple[int, int, int]) -> None:
    pixels = np.full((200, 400, 3), 240, np.uint8)
    pixels[50:150, 100:200] = colour
    with new_picture(key) as folder:
        cv2.imwrite(str(folder / "working.png"), pixels[:, :, ::-1])


def _by_littlecms(colours: list[tuple[int, int, int]]) -> Any:
    """The same colours through LittleCMS (by Pillow): Lab under D50, in 8 bits."""
    image = Image.fromarray(np.array([colours], np.uint8), "RGB")
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    lab = ImageCms.applyTransform(image, to_lab)
    assert lab is not None
    raw = np.frombuffer(lab.tobytes(), np.uint8).reshape(-1, 3)
    axes = raw[:, 1:].view(np.int8).astype(float)
    return np.column_stack([raw[:, 0] / 2.55, axes])


def test_a_marked_places_mean_and_distance_agree_with_littlecms_and_scikit_image(
    tmp_path: Path, settings: Any
) -> None:
    settings.BOARD_FOLDER = tmp_path
    colours = [(224, 165, 38), (226, 163, 40), (190, 120, 30)]
    labs = []
    for number, colour in enumerate(colours):
        _picture(f"measured{number}", colour)
        labs.append(mean_colour(f"measured{number}", ((0.3, 0.3), (0.45, 0.7))).lab)
    assert np.abs(np.array(labs) - _by_littlecms(colours)).max() < 1.0  # it says 8 bits
    apart = from_median(labs)
    held = np.array(labs)
    middle = np.tile(np.median(held, axis=0), (3, 1))
    told = deltaE_ciede2000(held, middle)  # type: ignore[no-untyped-call]  # no types
    assert apart == pytest.approx(list(told), abs=0.01)
    assert apart[2] > 5 > apart[1]


def test_an_even_place_has_no_noise_and_an_uneven_one_has(
    tmp_path: Path, settings: Any
) -> None:
    settings.BOARD_FOLDER = tmp_path
    _picture("evenplace", (224, 165, 38))
    assert mean_colour("evenplace", ((0.3, 0.3), (0.4, 0.6))).noise < 0.01
    assert mean_colour("evenplace", ((0.1, 0.1), (0.6, 0.9))).noise > 5
    with pytest.raises(NotUnderstood):
        mean_colour("evenplace", ((1.1, 0.1), (1.2, 0.9)))


def test_only_what_lies_in_a_loop_is_measured(tmp_path: Path, settings: Any) -> None:
    settings.BOARD_FOLDER = tmp_path
    _picture("looped", (224, 165, 38))
    # The even part ends at (.25 .. .5, .25 .. .75); its box would take in the paper.
    triangle = ((0.26, 0.74), (0.49, 0.74), (0.49, 0.3))
    assert mean_colour("looped", triangle).noise < 0.01
    wide = mean_colour("looped", ((0.26, 0.74), (0.49, 0.9), (0.49, 0.3)))
    assert wide.noise > 2
    # Half of its box of 92 x 88 pixels.
    assert mean_colour("looped", triangle).pixels == pytest.approx(4048, rel=0.05)
    with pytest.raises(NotUnderstood):
        mean_colour("looped", ((0.5, 0.5), (0.5, 0.5), (0.5, 0.5)))


def test_a_loop_is_marked_by_its_corners(book: Book, cast: Cast, item: Item) -> None:
    thing = enter_thing(by=cast.editor, book=book, name="coat", event=make.event())
    page = reverse("continuity:place", args=[thing.key, item.key])
    client = Client()
    client.force_login(cast.editor)
    assert client.post(page, {"event": make.event()}).status_code == 422
    typed = {"event": make.event(), "loop": "10,10 20,10 15,30"}
    assert client.post(page, typed).status_code == 302
    assert thing.places.get().points == [[0.1, 0.1], [0.2, 0.1], [0.15, 0.3]]
    assert client.get(page).status_code == 200
