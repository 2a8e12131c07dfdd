"""Papers beside the art, such as a letter of leave: looked at by their first bytes.

Nothing of ours ever opens them: they are stored and handed back as a download
(`originals` serves them as octets, never shown in a page).
"""

from pathlib import Path
from typing import Final

from board.errors import NotUnderstood

MOST_BYTES: Final = 25_000_000
HEAD: Final = 1024
# ISO 32000-2, 7.5.2; RFC 2083; JPEG (ISO 10918-1); TIFF 6.0.
STARTS: Final = {
    b"\x89PNG\r\n\x1a\n": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"II*\x00": "TIFF",
    b"MM\x00*": "TIFF",
}
NEITHER: Final = (
    "A grant's document is kept as PDF, JPEG, PNG or TIFF. Print the letter or mail to "
    "PDF and send that."
)


def require_paper(path: Path) -> str:
    """Name the kind of paper; NotUnderstood when it is neither PDF nor a picture."""
    with path.open("rb") as file:
        head = file.read(HEAD)
    if head.startswith(b"%PDF-"):
        return "PDF"
    for start, kind in STARTS.items():
        if head.startswith(start):
            return kind
    raise NotUnderstood(NEITHER)
