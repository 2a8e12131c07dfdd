"""The dummy: the whole book on paper, to read through or to fold and staple."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from io import BytesIO
from pathlib import Path

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from board.books.models import Book, Box, Item, ItemText
from board.books.queries import newest_texts
from board.books.rules import STAGES
from board.books.rules.typesetting import shared
from board.paper.rules import PAPERS, Paper, Side, printers_pairs, readers_spreads
from board.repro import faces
from board.repro.sheets import Rect, sheet_rect
from board.repro.unlaid import medium_path
from board.revisions.models import Revision
from board.revisions.queries import currents, sheet_of

EDGE_MM, BAND_MM = 7.0, 12.0
BAND = "Dummy, not for press"
NEWEST = "newest"


@dataclass(frozen=True)
class Wanted:
    """How the dummy is wanted: paper, stage, pairs to fold or spreads to read."""

    paper: str = "a4"
    stage: str = NEWEST
    fold: bool = False


@dataclass(frozen=True)
class Leaf:
    """What lies on one page: the item, its half of the picture, and its words."""

    item: Item
    page: int
    picture: Path | None
    rect: Rect
    words: Sequence[tuple[Box, str]] = ()

    @property
    def part(self) -> tuple[float, float]:
        """From where to where the page reaches on the sheet, in x."""
        if not self.item.is_double:
            return 0.0, 1.0
        return (0.0, 0.5) if self.page == self.item.first_page else (0.5, 1.0)


@dataclass
class Dummy:
    """Everything that is drawn, read before a line is drawn."""

    book: Book
    leaves: Mapping[int, Leaf]
    said: str
    text_number: int = 0
    shown: Mapping[int, Revision] = field(default_factory=dict)


def dummy_of(book: Book, stage: str = NEWEST) -> Dummy:
    """Read pictures and words of every page, in a few queries."""
    up = currents(book) if stage == NEWEST else _last_of(book, stage)
    texts = newest_texts(book)
    items = book.items.filter(set_aside=False).prefetch_related("boxes")
    leaves: dict[int, Leaf] = {}
    for item in items.order_by("position"):
        item.book = book
        if not item.first_page:
            continue  # jacket and case are no pages
        for page in range(item.first_page, item.last_page + 1):
            leaves[page] = _leaf(item, page, up.get(item.pk), texts.get(item.key))
    last = book.texts.order_by("-number").first()
    said = "newest pictures" if stage == NEWEST else f"pictures at {stage}"
    return Dummy(book, leaves, said, last.number if last else 0, up)


def _last_of(book: Book, stage: str) -> dict[int, Revision]:
    rows = Revision.objects.filter(
        item__book=book, stage=stage, number__isnull=False
    ).order_by("number")
    return {row.item_id: row for row in rows}


def _leaf(item: Item, page: int, up: Revision | None, text: ItemText | None) -> Leaf:
    path = medium_path(up.picture) if up and up.picture else None
    boxes = [box for box in item.boxes.all() if box.sort == Box.Sort.TYPE]
    parts = shared(text.words if text else "", len(boxes))
    words = [(box, part) for box, part in zip(boxes, parts, strict=True) if part]
    return Leaf(item, page, path, sheet_rect(sheet_of(item)), words)


def as_pdf(dummy: Dummy, wanted: Wanted) -> bytes:
    """Draw the dummy: reader's spreads, or printer's pairs to fold and staple."""
    book = dummy.book
    paper = PAPERS[wanted.paper].turned
    sides = (printers_pairs if wanted.fold else readers_spreads)(book.extent)
    canvas = Canvas(
        BytesIO(),
        pagesize=(paper.width_mm * mm, paper.height_mm * mm),
        lang="en",
        initialFontName=faces.registered(),
    )
    canvas.setTitle(f"Dummy of {book.title}")
    for side in sides:
        _side(canvas, dummy, side, paper, fold=wanted.fold)
        canvas.showPage()
    body: bytes = canvas.getpdfdata()
    return body


def _side(
    canvas: Canvas, dummy: Dummy, side: Side, paper: Paper, *, fold: bool
) -> None:
    book = dummy.book
    scale = min(
        (paper.width_mm - 2 * EDGE_MM) / (2 * book.trim_width_mm),
        (paper.height_mm - 2 * EDGE_MM - BAND_MM) / book.trim_height_mm,
        1.0,
    )
    wide, high = book.trim_width_mm * scale, book.trim_height_mm * scale
    fold_x = paper.width_mm / 2
    low = BAND_MM + EDGE_MM + (paper.height_mm - BAND_MM - 2 * EDGE_MM - high) / 2
    for page, left in ((side.left, fold_x - wide), (side.right, fold_x)):
        slot = Rect(left, low, wide, high)
        if leaf := dummy.leaves.get(page):
            _page(canvas, leaf, slot, scale)
        if page:
            _frame(canvas, slot)
    _band(canvas, dummy, side, paper, scale)
    canvas.setTrimBox(
        ((fold_x - wide) * mm, low * mm, (fold_x + wide) * mm, (low + high) * mm)
    )
    if fold:
        _ticks(canvas, fold_x, low, high)


def _page(canvas: Canvas, leaf: Leaf, slot: Rect, scale: float) -> None:
    """Draw one page's half of the picture, and the words that lie on it."""
    canvas.saveState()
    shown = canvas.beginPath()
    shown.rect(slot.x * mm, slot.y * mm, slot.width * mm, slot.height * mm)
    canvas.clipPath(shown, stroke=0)
    begins, ends = leaf.part
    whole = slot.width / (ends - begins)  # the sheet's width on this paper
    if leaf.picture is not None:
        rect = leaf.rect
        canvas.drawImage(
            str(leaf.picture),
            (slot.x + (rect.x - begins) * whole) * mm,
            (slot.y + slot.height * (1 - rect.y - rect.height)) * mm,
            rect.width * whole * mm,
            rect.height * slot.height * mm,
        )
    for box, words in leaf.words:
        left = slot.x + (box.x - begins) * whole
        top = slot.y + slot.height * (1 - box.y)
        _set(canvas, words, (left, top, box.width * whole), leaf.item.book, scale)
    canvas.restoreState()


def _set(
    canvas: Canvas,
    words: str,
    place: tuple[float, float, float],
    book: Book,
    scale: float,
) -> None:
    """Set words at the book's size, hanging from the top of their box."""
    left, top, width = place
    size = book.type_pt * scale
    if faces.runs_right_to_left(words):
        png, wide, high = faces.drawn(words, size, width * mm)
        body = faces.picture_of(png)
        canvas.drawImage(body, left * mm, top * mm - high, wide, high, mask=[250, 255])
        return
    style = ParagraphStyle(
        "dummy",
        fontName=faces.registered(faces.TEXT),
        fontSize=size,
        leading=book.leading_pt * scale,
    )
    set_words = Paragraph(escape(words).replace("\n", "<br/>"), style)
    high = set_words.wrap(width * mm, 10_000)[1]
    set_words.drawOn(canvas, left * mm, top * mm - high)


def _frame(canvas: Canvas, slot: Rect) -> None:
    canvas.setLineWidth(0.25)
    canvas.setStrokeColorRGB(0.55, 0.55, 0.55)
    canvas.rect(
        slot.x * mm, slot.y * mm, slot.width * mm, slot.height * mm, stroke=1, fill=0
    )


def _band(canvas: Canvas, dummy: Dummy, side: Side, paper: Paper, scale: float) -> None:
    """Write what this is under the pages, and each page's number."""
    canvas.setFillColorRGB(0, 0, 0)
    canvas.setFont(faces.registered(faces.BOLD), 9)
    middle = paper.width_mm / 2
    canvas.drawCentredString(middle * mm, (EDGE_MM + 5) * mm, BAND.upper())
    canvas.setFont(faces.registered(), 7)
    told = (
        f"{dummy.book.title}: {dummy.said}, text version {dummy.text_number}, "
        f"{scale * 100:.0f} % of the trim. Colour is an estimate."
    )
    canvas.drawCentredString(middle * mm, EDGE_MM * mm, told)
    canvas.setFont(faces.registered(), 9)
    if side.left:
        canvas.drawString(EDGE_MM * mm, (EDGE_MM + 5) * mm, f"page {side.left}")
    if side.right:
        canvas.drawRightString(
            (paper.width_mm - EDGE_MM) * mm, (EDGE_MM + 5) * mm, f"page {side.right}"
        )


def _ticks(canvas: Canvas, fold_x: float, low: float, high: float) -> None:
    """Show where to fold, and where two staples go."""
    canvas.setLineWidth(0.5)
    canvas.setStrokeColorRGB(0, 0, 0)
    for y in (low - 3, low + high + 0.5):
        canvas.line(fold_x * mm, y * mm, fold_x * mm, (y + 2.5) * mm)
    for share in (0.25, 0.75):
        y = low + high * share
        canvas.line((fold_x - 1) * mm, y * mm, (fold_x + 1) * mm, y * mm)


STAGE_CHOICES = [
    (NEWEST, "the newest of each"),
    *((stage.value, stage.value) for stage in STAGES),
]
