"""Storyboard sheets drawn by program, with frames that are known exactly.

The limits (2 % of the sheet's diagonal, overlap 0.9) are common practice, no source.
"""

import json
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from django.core.management import call_command

from board.imaging.storyboard.boxes import Box
from board.imaging.storyboard.cutting import cut
from board.imaging.storyboard.layout import rows_of
from board.imaging.storyboard.ruling import pitch, unruled
from board.repro.comparing import copy_of
from fixtures.drawing.storyboard import corners_in_photo, paint_storyboard
from tests.bench.storyboard_bench import weigh
from tests.imaging.storyboards.second import second
from tests.imaging.storyboards.sheets import Sheet, sheet


def plain(rows: int = 3, columns: int = 4) -> Sheet:
    """Give a white page with drawn boxes."""
    page = np.full((600, 900, 3), 250, np.uint8)
    frames = []
    for row in range(rows):
        for column in range(columns):
            x, y = 50 + 205 * column, 60 + 170 * row
            box = np.array([[x, y], [x + 180, y], [x + 180, y + 110], [x, y + 110]])
            cv2.polylines(page, [box], True, (40, 40, 40), 2)  # noqa: FBT003
            cv2.line(page, (x + 90, y), (x + 90, y + 110), (90, 90, 90), 1)
            frames.append(box.astype(np.float64))
    return Sheet("clean", 0, page, frames)


def test_drawn_frames_are_found_whole_although_a_line_parts_each() -> None:
    made = plain()
    told = cut(made.picture)
    counted = weigh([one.corners for one in told.frames], made, sure=told.sure)
    assert counted["nearer"] == 12
    assert counted["invented"] == 0
    assert counted["order"]
    assert told.sure


def test_single_pages_beside_spreads_are_no_halves_of_them() -> None:
    page = np.full((600, 900, 3), 250, np.uint8)
    frames = []
    rows = ((180, 180, 84, 84, 180), (84, 180, 180, 180, 84), (180, 84, 180, 84, 180))
    for row, widths in enumerate(rows):
        x, y = 50, 60 + 170 * row
        for wide in widths:
            box = np.array([[x, y], [x + wide, y], [x + wide, y + 110], [x, y + 110]])
            cv2.polylines(page, [box], True, (40, 40, 40), 2)  # noqa: FBT003
            frames.append(box.astype(np.float64))
            x += wide + 14
    told = cut(page)
    counted = weigh([one.corners for one in told.frames], Sheet("mixed", 0, page, frames),
                sure=told.sure)  # fmt: skip
    assert counted["nearer"] == 15
    assert counted["invented"] == 0
    assert told.sure, told.doubts


def test_squares_of_the_paper_are_no_frames_although_frames_lie_on_them() -> None:
    made = plain()
    page = made.picture.copy()
    page[::20] = np.minimum(page[::20], (185, 205, 230))
    page[:, ::20] = np.minimum(page[:, ::20], (185, 205, 230))
    told = cut(page)
    counted = weigh([one.corners for one in told.frames], made, sure=told.sure)
    assert counted["nearer"] == 12
    assert counted["invented"] == 0


def test_printed_lines_are_told_by_their_even_step() -> None:
    level = np.zeros((400, 300), np.float32)
    inside = np.ones((400, 300), bool)
    level[::25] = 0.1
    level[50:52, 40:260] = 0.6
    assert pitch(level, inside) == 25
    left, _, under = unruled(level, level, inside, 25)
    assert left[::25].max() > 0.3  # a drawn line is six times as dark as a printed one
    assert left[100].max() == 0
    assert under[100].min() >= 0.1


def test_a_few_lines_far_apart_are_not_printed_on_the_paper() -> None:
    level = np.zeros((400, 300), np.float32)
    level[[60, 140, 230, 310], 30:270] = 0.5
    assert pitch(level, np.ones((400, 300), bool)) == 0


def test_washes_with_straight_edges_are_always_asked_about() -> None:
    made = plain()
    page = np.full_like(made.picture, 250)
    for frame in made.frames:
        cv2.fillPoly(page, [frame.astype(np.int32)], (170, 190, 215))
    told = cut(page)
    assert len(told.frames) == 12
    assert not told.sure


def test_drawn_frames_filled_with_a_wash_are_still_drawn_frames() -> None:
    made = plain()
    page = np.full_like(made.picture, 250)
    for frame in made.frames:
        cv2.fillPoly(page, [frame.astype(np.int32)], (170, 190, 215))
        cv2.polylines(page, [frame.astype(np.int32)], True, (40, 40, 40), 2)  # noqa: FBT003
    told = cut(page)
    assert len(told.frames) == 12
    assert told.sure, told.doubts


def test_an_empty_page_has_no_frames_and_needs_no_question() -> None:
    told = cut(np.full((500, 700, 3), 245, np.uint8))
    assert told.frames == []
    assert told.sure


def test_rows_are_read_from_the_top_although_they_are_crooked() -> None:
    boxes = [Box(300, 6, 400, 66), Box(0, 0, 100, 60), Box(150, 9, 250, 69),
             Box(0, 100, 100, 160)]  # fmt: skip
    order = [box for row in rows_of(boxes) for box in row]
    assert [(box.x0, box.y0) for box in order] == [(0, 0), (150, 9), (300, 6), (0, 100)]


def test_the_command_writes_every_sheet_by_its_id(tmp_path: Path) -> None:
    made = plain()
    cv2.imwrite(str(tmp_path / "a.png"), made.picture)
    (tmp_path / "b.txt").write_text("no picture")
    listed = [{"id": "a", "sheet": str(tmp_path / "a.png")},
              {"id": "b", "sheet": str(tmp_path / "b.txt")}]  # fmt: skip
    (tmp_path / "list.json").write_text(json.dumps(listed))
    out = tmp_path / "out.json"
    call_command("cut_storyboard", sheets=tmp_path / "list.json", out=out)
    told = json.loads(out.read_text())["sheets"]
    assert len(told["a"]["frames"]) == 12
    assert np.abs(np.array(told["a"]["frames"][0]["corners"][0]) - (50, 60)).max() < 6
    assert told["b"]["frames"] == []
    assert told["b"]["sure"] is False
    assert told["b"]["reason"]


EVERY = ("clean", "phone", "graph", "touching")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "draw", "seed"),
    [(kind, sheet, 301) for kind in (*EVERY, "none")]
    + [(kind, second, 2) for kind in EVERY],
)
def test_sheets_of_every_kind_and_of_both_hands_are_cut(
    kind: str, draw: Callable[[str, int], Sheet], seed: int
) -> None:
    made = draw(kind, seed)
    told = cut(made.picture)
    counted = weigh([one.corners for one in told.frames], made, sure=told.sure)
    assert counted["near"] >= 0.95 * counted["frames"]
    assert not counted["sure wrong"]


@pytest.mark.slow
def test_frames_that_stand_close_are_no_lattice() -> None:
    made = sheet("clean", 922, 2000)
    told = cut(made.picture)
    counted = weigh([one.corners for one in told.frames], made, sure=told.sure)
    assert counted["near"] == counted["frames"] == 10
    assert not counted["invented"]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("draw", "kind", "seed", "most"),
    [
        (second, "phone", 953, 1),  # a hard shadow across the sheet is not its edge
        (sheet, "rough", 935, 2),  # wobbly frames say little of a leaning page
        (sheet, "rough", 923, 0),  # with a side open each, yet no page without frames
        (second, "touching", 932, 0),  # thick lines that all frames share
    ],
)
def test_hard_sheets_keep_their_frames(
    draw: Callable[..., Sheet], kind: str, seed: int, most: int
) -> None:
    made = draw(kind, seed, 2000)
    told = cut(made.picture)
    counted = weigh([one.corners for one in told.frames], made, sure=told.sure)
    assert counted["frames"] - counted["near"] <= most


@pytest.mark.slow
@pytest.mark.parametrize(
    ("draw", "seed"),
    [
        pytest.param(sheet, 961, id="lines in no order"),
        pytest.param(sheet, 963, id="more lines in no order"),
        pytest.param(sheet, 1001, id="a painting of stripes"),
        pytest.param(sheet, 1012, id="a column of print"),
        pytest.param(sheet, 1016, id="a ruled table"),
        pytest.param(second, 1012, id="handwriting"),
        pytest.param(second, 1024, id="a sketched scene"),
    ],
)
def test_nothing_is_invented_on_pages_of_many_lines(
    draw: Callable[[str, int, int], Sheet], seed: int
) -> None:
    told = cut(draw("none", seed, 2000).picture)
    assert not told.frames
    assert not told.sure


def test_the_demo_book_s_full_frames_are_cut_without_a_question(tmp_path: Path) -> None:
    """Its thumbnails fill their frames with lines; truth from the program that drew it."""
    paint_storyboard(tmp_path / "sheet.jpg")
    copy, size = copy_of(tmp_path / "sheet.jpg")
    told = cut(copy)
    assert told.sure
    truth = np.array(corners_in_photo()) * copy.shape[1] / size[0]
    found = np.array([frame.corners for frame in told.frames])
    assert found.shape == truth.shape
    assert np.abs(found - truth).max() < 0.02 * np.hypot(*copy.shape[:2])


@pytest.mark.slow
def test_small_pictures_without_frames_are_always_asked_about() -> None:
    made = sheet("frameless", 301)
    told = cut(made.picture)
    assert told.frames
    assert not told.sure
