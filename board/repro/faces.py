"""The faces that PDFs are set in, and words that run from right to left."""

import unicodedata
from functools import cache
from io import BytesIO
from pathlib import Path

import reportlab
from django.conf import settings
from PIL import Image, ImageDraw, ImageFont, features
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN = "DejaVuSans"
BOLD = "DejaVuSans-Bold"
TEXT = "DejaVuSerif"  # a book's words, where the book names no face of its own
KEPT = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
RIGHT_TO_LEFT = frozenset({"R", "AL"})
DRAWN_PPI = 300


def file_of(name: str) -> Path:
    """Return where a face lies; Vera, which knows Latin only, while it is not there."""
    file = Path(settings.BASE_DIR) / "static" / "vendor" / f"{name}.ttf"
    return file if file.exists() else KEPT


@cache
def registered(name: str = PLAIN) -> str:
    """Make a face known to the PDF library and return its name there."""
    pdfmetrics.registerFont(TTFont(name, str(file_of(name))))
    return name


def runs_right_to_left(words: str) -> bool:
    """Whether any letter of it belongs to a script written from right to left."""
    return any(unicodedata.bidirectional(letter) in RIGHT_TO_LEFT for letter in words)


def drawn(words: str, size_pt: float, width_pt: float) -> tuple[bytes, float, float]:
    """Draw words that a PDF library would set in the wrong order, as a picture.

    Returns
    -------
    tuple
        A grey PNG at 300 ppi, its width and its height in points. Letters are shaped
        and ordered by Pillow's Raqm, each line set flush right.
    """
    scale = DRAWN_PPI / 72
    layout = ImageFont.Layout.RAQM if features.check("raqm") else None
    face = ImageFont.truetype(
        str(file_of(PLAIN)), size_pt * scale, layout_engine=layout
    )
    most = int(width_pt * scale)
    lines = [line for part in words.splitlines() for line in _broken(part, face, most)]
    step = int(size_pt * scale * 1.4)
    picture = Image.new("L", (most, max(1, step * len(lines))), 255)
    pen = ImageDraw.Draw(picture)
    for number, line in enumerate(lines):
        pen.text((most, number * step), line, fill=0, font=face, anchor="ra")
    out = BytesIO()
    picture.save(out, "PNG")
    return out.getvalue(), width_pt, picture.height / scale


def picture_of(png: bytes) -> ImageReader:
    """Make drawn words known to the PDF library."""
    return ImageReader(BytesIO(png))


def _broken(words: str, face: ImageFont.FreeTypeFont, most: int) -> list[str]:
    """Break one paragraph into lines no wider than so many pixels."""
    lines: list[str] = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and face.getlength(longer) > most:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
