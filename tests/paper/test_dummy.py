"""The dummy: folded by program, its pages read back in order."""

import re
from io import BytesIO
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from pypdf import PdfReader

from board.books.actions.boxes import Place, place_box
from board.books.models import Book, Box, Item
from board.paper.queries.dummy import Dummy, Leaf, Wanted, as_pdf, dummy_of
from board.paper.rules import Side, printers_pairs, readers_spreads
from board.repro.sheets import Rect
from board.repro.store import new_picture
from board.slips.actions.texts import make_text_version
from tests import make
from tests.conftest import Cast


@pytest.mark.parametrize("extent", [8, 24, 32, 40, 48])
def test_pages_of_a_printers_pair_add_up_to_one_more_than_the_extent(
    extent: int,
) -> None:
    sides = printers_pairs(extent)
    assert len(sides) == extent // 2
    assert {side.left + side.right for side in sides} == {extent + 1}


def folded(sides: list[Side]) -> list[int]:
    """Fold the sheets, each laid into the one before, and page through.

    From the outside in the right page of a front lies over the left page of its back;
    from the middle out the right page of a back lies over the left page of its front.
    """
    fronts, backs = sides[0::2], sides[1::2]
    pages = []
    for front, back in zip(fronts, backs, strict=True):
        pages += [front.right, back.left]
    for front, back in zip(reversed(fronts), reversed(backs), strict=True):
        pages += [back.right, front.left]
    return pages


@pytest.mark.parametrize("extent", [8, 32, 48])
def test_a_folded_dummy_pages_through_in_order(extent: int) -> None:
    assert folded(printers_pairs(extent)) == list(range(1, extent + 1))


def test_an_odd_extent_is_filled_up_with_empty_pages_at_the_end() -> None:
    assert folded(printers_pairs(30)) == [*range(1, 31), 0, 0]


def test_spreads_meet_as_they_are_read() -> None:
    sides = readers_spreads(32)
    assert sides[0] == Side(0, 1)
    assert sides[4] == Side(8, 9)
    assert sides[-1] == Side(32, 0)
    assert len(sides) == 17


def test_the_pdf_carries_the_pages_where_the_fold_wants_them(book: Book) -> None:
    body = as_pdf(dummy_of(book), Wanted(fold=True))
    sides = []
    for page in PdfReader(BytesIO(body)).pages:
        text = page.extract_text()
        assert "DUMMY, NOT FOR PRESS" in text
        left, right = _numbers(page.mediabox.width, page)
        sides.append(Side(left, right))
    assert folded(sides) == list(range(1, book.extent + 1))


def _numbers(width: float, page: object) -> tuple[int, int]:
    """Which page number stands left and which right of the fold, by its place."""
    found: dict[bool, int] = {}

    def seen(text: str, _cm: object, tm: list[float], *_more: object) -> None:
        match = re.fullmatch(r"page (\d+)", text.strip())
        if match:
            found[tm[4] < float(width) / 2] = int(match[1])

    page.extract_text(visitor_text=seen)  # type: ignore[attr-defined]
    return found[True], found[False]


@pytest.fixture
def painted(book: Book, cast: Cast) -> Dummy:
    """8-9 with a red left and a blue right page, words in its type box."""
    item = book.items.get(label="8-9")
    place = Place(0.06, 0.06, 0.34, 0.26)
    place_box(item, place, by=cast.designer, sort=Box.Sort.TYPE, event=make.event())
    words = {item.key: "Comma is the goat."}
    make_text_version(
        by=cast.editor,
        book=book,
        words=words,
        event=make.event(),
        reasons={"reason": "first"},
    )
    up = make.revision(of=item, by=cast.illustrator, number=1)
    with new_picture(up.picture) as folder:
        halves = np.zeros((600, 1200, 3), np.uint8)
        halves[:, :600], halves[:, 600:] = (0, 0, 200), (200, 0, 0)
        cv2.imwrite(str(Path(folder) / "medium.jpg"), halves)
    return dummy_of(book)


def test_a_spread_is_cut_at_the_fold_and_meets_again_when_folded(
    painted: Dummy,
) -> None:
    reading = _raster(as_pdf(painted, Wanted()), 4)
    left, right = _halves(reading)
    assert left[0] > 150 > left[2]
    assert right[2] > 150 > right[0]
    sides = printers_pairs(32)
    at = next(
        number for number, side in enumerate(sides) if 8 in (side.left, side.right)
    )
    pair = _raster(as_pdf(painted, Wanted(fold=True)), at)
    eight = _halves(pair)[0 if sides[at].left == 8 else 1]
    other = _halves(pair)[1 if sides[at].left == 8 else 0]
    assert eight[0] > 150 > eight[2]
    assert min(other) > 200  # page 25 has no picture


def _raster(body: bytes, number: int) -> np.ndarray:
    page = pypdfium2.PdfDocument(body)[number]
    return np.asarray(page.render(scale=1).to_pil().convert("RGB"))


def _halves(picture: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The colour a little left and right of the fold, half way down."""
    middle, row = picture.shape[1] // 2, picture.shape[0] // 2
    return (
        picture[row, middle - 60 : middle - 20].mean(axis=0),
        picture[row, middle + 20 : middle + 60].mean(axis=0),
    )


def test_the_words_stand_on_their_page(painted: Dummy) -> None:
    body = as_pdf(painted, Wanted())
    texts = [page.extract_text() for page in PdfReader(BytesIO(body)).pages]
    assert ["Comma is the goat." in text for text in texts].index(True) == 4
    assert "text version 1" in texts[4]


BITS = 6  # enough for 48 pages


def banded(path: Path, pages: list[int]) -> Path:
    """A picture whose pages carry their number as six dark or light bands."""
    picture = np.full((600, 600 * len(pages), 3), 255, np.uint8)
    for at, page in enumerate(pages):
        for bit in range(BITS):
            if page >> bit & 1:
                picture[bit * 100 : bit * 100 + 100, at * 600 : at * 600 + 600] = 20
    cv2.imwrite(str(path), picture)
    return path


def read_back(picture: np.ndarray, trim: tuple[float, ...]) -> Side:
    """The page numbers that the bands left and right of the fold say."""
    x0, y0, x1, y1 = trim
    said = []
    for share in (0.25, 0.75):
        x, value = round(x0 + share * (x1 - x0)), 0
        for bit in range(BITS):
            up = y1 - (bit + 0.5) / BITS * (y1 - y0)
            y = round(picture.shape[0] - up)
            value += int(picture[y - 3 : y + 3, x - 3 : x + 3].mean() < 128) << bit
        said.append(value)
    return Side(*said)


def test_the_printed_dummy_is_folded_and_its_pages_read_in_order(
    tmp_path: Path,
) -> None:
    book = Book(title="Bands", extent=32, trim_width_mm=254, trim_height_mm=254)
    leaves: dict[int, Leaf] = {}
    for first in (1, *range(2, 32, 2), 32):
        pages = [first] if first in (1, 32) else [first, first + 1]
        kind = "pastedown" if len(pages) == 1 else "spread"
        item = Item(book=book, kind=kind, first_page=first, last_page=pages[-1])
        path = banded(tmp_path / f"{first}.jpg", pages)
        leaves |= {page: Leaf(item, page, path, Rect(0, 0, 1, 1)) for page in pages}
    printed = pypdfium2.PdfDocument(
        as_pdf(Dummy(book, leaves, "test"), Wanted(fold=True))
    )
    sides = []
    for page in printed:
        picture = np.asarray(page.render(scale=1).to_pil().convert("L"))
        sides.append(read_back(picture, page.get_trimbox()))
    assert folded(sides) == list(range(1, 33))
