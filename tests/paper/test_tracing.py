"""The tracing, read back by two other PDF libraries and measured on its raster."""

from io import BytesIO

import cv2
import numpy as np
import pikepdf
import pypdfium2
import pytest
from pypdf import PdfReader

from board.books.models import Item
from board.paper.queries import Line, Printed
from board.paper.queries.tracing import Wanted, tracing
from board.paper.rules import EDGE_MM, FOOT_MM, LEFT_MM, OWN, PAPERS, Art, tiling

MM = 72 / 25.4
PPI = 300
LINES = (
    Line("2.1 HN", "keep", "Keep this.", "box", [[0.66, 0.7], [0.82, 0.86]]),
    Line(
        "2.2 DC", "direction", "Move it.", "loop", [[0.1, 0.1], [0.3, 0.1], [0.2, 0.4]]
    ),
    Line("2.3 LA", "query", "Which?", "point", [[0.5, 0.5]]),
    Line("2.4 LA", "comment", "All of it.", "", []),
)


@pytest.fixture
def printed(item: Item) -> Printed:
    item.book.art_percent = 110.0
    return Printed(item, "Open lines", "", None, LINES)


@pytest.mark.parametrize("paper", [*PAPERS, OWN])
def test_boxes_are_the_paper_and_what_lies_on_it(printed: Printed, paper: str) -> None:
    # ISO 32000-1, 14.11.2: TrimBox within BleedBox within MediaBox.
    body = tracing(printed, Wanted(paper))
    art = _art(printed)
    spread = tiling(art, paper)
    reader, other = PdfReader(BytesIO(body)), pikepdf.open(BytesIO(body))
    assert len(reader.pages) == len(other.pages) == spread.many
    for page, same, window in zip(
        reader.pages, other.pages, spread.windows, strict=True
    ):
        media = [float(at) for at in page.mediabox]
        assert media == pytest.approx(
            [0, 0, spread.paper.width_mm * MM, spread.paper.height_mm * MM], abs=0.01
        )
        trim = [float(at) for at in page.trimbox]
        assert [float(at) for at in same.trimbox] == pytest.approx(trim, abs=1e-3)
        shown = art.trim.shared_with(window)
        assert shown is not None
        left = (LEFT_MM + shown.x - window.x) * MM
        assert trim[0] == pytest.approx(left, abs=0.01)
        assert trim[2] - trim[0] == pytest.approx(shown.width * MM, abs=0.01)
        assert trim[3] - trim[1] == pytest.approx(shown.height * MM, abs=0.01)
        bleed = [float(at) for at in page.bleedbox]
        assert bleed[0] <= trim[0] + 1e-3
        assert bleed[3] >= trim[3] - 1e-3
        assert bleed[2] <= media[2]


@pytest.mark.parametrize("mirrored", [False, True])
def test_both_bars_measure_a_hundred_millimetres_on_the_raster(
    printed: Printed, *, mirrored: bool
) -> None:
    body = tracing(printed, Wanted("a4", mirrored=mirrored))
    page = pypdfium2.PdfDocument(body)[0]
    grey = np.asarray(page.render(scale=PPI / 72, grayscale=True).to_pil())
    high = grey.shape[0]
    a_mm = PPI / 25.4
    row = high - round((FOOT_MM - 8.0 + 1.5) * a_mm)  # through the ticks, off the bar
    lying = _middles(grey[row, : round((LEFT_MM + 110) * a_mm)] < 128)
    assert lying[-1] - lying[0] == pytest.approx(100 * a_mm, abs=1.0)
    column = round((EDGE_MM + 4.0 + 1.5) * a_mm)
    upright = _middles(grey[:, column] < 128)
    assert upright[-1] - upright[0] == pytest.approx(100 * a_mm, abs=1.0)


def _middles(dark: np.ndarray) -> list[float]:
    """Middle of each run of dark pixels."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    return [(one + other - 1) / 2 for one, other in edges.reshape(-1, 2)]


def test_a_mark_lies_at_art_size_where_it_lies_on_the_sheet(printed: Printed) -> None:
    body = tracing(printed, Wanted(OWN))
    page = pypdfium2.PdfDocument(body)[0]
    grey = np.asarray(page.render(scale=150 / 72, grayscale=True).to_pil())
    a_mm = 150 / 25.4
    art = _art(printed)
    x, y = art.at(0.5, 0.5)
    column, row = (LEFT_MM + x) * a_mm, (EDGE_MM + y) * a_mm
    reach = round(2 * a_mm)
    beside = grey[round(row) - reach, :]
    cross = np.flatnonzero(beside[round(column) - 8 : round(column) + 8] < 160)
    assert len(cross)
    assert cross.mean() - 8 + round(column) + 0.5 == pytest.approx(column, abs=1.0)


def test_the_mirrored_one_is_the_other_turned_over(printed: Printed) -> None:
    plain, mirrored = (
        np.asarray(
            pypdfium2.PdfDocument(tracing(printed, Wanted(OWN, mirrored=turned)))[0]
            .render(scale=1, grayscale=True)
            .to_pil()
        )
        for turned in (False, True)
    )
    art = _art(printed)
    left, top = round(LEFT_MM * MM), round(EDGE_MM * MM)
    width, height = (round(one * MM) for one in art.size_mm)
    one = plain[top : top + height, left : left + width] < 200
    other = mirrored[top : top + height, left : left + width] < 200
    near = cv2.dilate(other[:, ::-1].astype(np.uint8), np.ones((3, 3))) > 0
    assert near[one].mean() > 0.98
    assert (cv2.dilate(other.astype(np.uint8), np.ones((3, 3))) > 0)[one].mean() < 0.9


def test_only_marks_and_labels_are_on_it(printed: Printed) -> None:
    body = tracing(printed, Wanted(OWN, colour="blue"))
    text = PdfReader(BytesIO(body)).pages[0].extract_text()
    assert "2.2 DC" in text
    assert "Move it." not in text
    assert not PdfReader(BytesIO(body)).pages[0].images


def _art(printed: Printed) -> Art:
    item = printed.item
    return Art(item.width_mm, item.height_mm, item.book.bleed_mm, item.book.art_percent)
