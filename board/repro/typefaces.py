"""Measuring a face: its advance widths are kept, the file never is.

A font file is a program from a stranger's machine, so it is only read, by plain Python,
and nothing of it is drawn or handed out.
"""

import struct
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from io import BytesIO

from reportlab.pdfbase.ttfonts import TTFError, TTFontFile

from board.errors import NotUnderstood, TooLarge
from board.repro.faces import TEXT, file_of

MOST_BYTES = 4 << 20
MOST_SIGNS = 3000  # the Basic Multilingual Plane's living alphabets fit
UNREADABLE = (
    "This is no TrueType face that can be measured ({why}). Send the .ttf file of the "
    "text face; PostScript outlines (.otf) and collections cannot be measured."
)

BROKEN = (
    *(TTFError, struct.error, AssertionError, ValueError, LookupError, TypeError),
    *(ArithmeticError, AttributeError),
)  # whatever the plain reader trips over in a file that is none


@dataclass(frozen=True)
class Measured:
    """A face's name and its widths in thousandths of the size, by character."""

    name: str
    sha256: str
    widths: dict[str, float]
    usual: float


def measure_face(sent: bytes) -> Measured:
    """Read the widths out of a TrueType file.

    Raises
    ------
    TooLarge, NotUnderstood
        Over 4 MB, or not a face that can be read.
    """
    if len(sent) > MOST_BYTES:
        raise TooLarge("A text face is smaller than 4 MB; send the .ttf of one weight.")
    try:
        read = TTFontFile(BytesIO(sent), charInfo=1)
        widths = {
            chr(code): round(float(width), 2)
            for code, width in sorted(read.charWidths.items())[:MOST_SIGNS]
            if 0x20 <= code < 0x110000 and 0 <= float(width) < 10_000
        }
        usual, name = float(read.defaultWidth), _plain(read.name)
    except BROKEN as wrong:
        why = str(wrong)[:80] or type(wrong).__name__
        raise NotUnderstood(UNREADABLE.format(why=why)) from None
    if len(widths) < 20:
        raise NotUnderstood(UNREADABLE.format(why="it holds hardly any letters"))
    return Measured(name, sha256(sent).hexdigest(), widths, usual)


def _plain(name: object) -> str:
    told = name.decode("latin-1") if isinstance(name, bytes) else str(name)
    return "".join(sign for sign in told if sign.isprintable())[:120] or "a face"


@lru_cache(maxsize=1)
def stand_in() -> Measured:
    """The face that stands in until the book's own is sent."""
    measured = measure_face(file_of(TEXT).read_bytes())
    name = f"{measured.name}, which stands in"
    return Measured(name, measured.sha256, measured.widths, measured.usual)
