"""What a file is, told from its first bytes and never from its name alone."""

import re
from pathlib import PurePath

from board.errors import PictureRefused

HEAD = 4096
"""How many bytes of the file `sniff` wants to see."""

TAKEN = "Send a JPEG, PNG, WebP, TIFF, PSD or HEIC file."

EXTENSIONS = {
    "JPEG": {"jpg", "jpeg", "jpe", "jfif"},
    "PNG": {"png"},
    "WEBP": {"webp"},
    "TIFF": {"tif", "tiff"},
    "PSD": {"psd"},
    "HEIC": {"heic", "heif"},
}
HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"mif1"}
MOVING_BRANDS = {b"hevc", b"hevx", b"msf1", b"avis"}

# Patterns of what people send by mistake, each with the sentence it earns.
STRANGERS: tuple[tuple[bytes, str], ...] = (
    (rb"GIF8[79]a", "This is a GIF, which holds only 256 colours or a film."),
    (rb"BM.{4}\x00\x00\x00\x00", "This is a BMP picture, which the board cannot read."),
    (rb"%PDF-", "This is a PDF, not a picture. Export the spread from it."),
    (rb"8BPS\x00\x02", "This is a PSB file, the large form of PSD."),
    (rb"PK\x03\x04", "This is a zip archive or an office file, not a picture."),
    (rb"\x1aE\xdf\xa3|.{4}ftyp(?:isom|mp4.|M4V |qt  |avc1)", "This is a film."),
    (
        rb"(?:\xef\xbb\xbf)?\s*<(?:\?xml|!DOCTYPE svg|!--|svg)",
        "This is an SVG drawing.",
    ),
    (rb".{4}ftypavif", "This is an AVIF picture, which the board cannot read yet."),
)
SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (rb"\xff\xd8\xff", "JPEG"),
    (rb"\x89PNG\r\n\x1a\n", "PNG"),
    (rb"RIFF.{4}WEBP", "WEBP"),
    (rb"(?:II[\x2a\x2b]\x00|MM\x00[\x2a\x2b])", "TIFF"),
    (rb"8BPS\x00\x01", "PSD"),
)


def sniff(head: bytes, filename: str) -> str:
    """Name the format of a file: JPEG, PNG, WEBP, TIFF, PSD or HEIC.

    Parameters
    ----------
    head : the first `HEAD` bytes of the file.
    filename : the name it was sent under; only its extension counts.

    Raises
    ------
    PictureRefused
        when it is empty, none of the six, moving, or named as something else.
    """
    if not head:
        raise PictureRefused(
            "The file is empty. Look whether it opens, then resend it."
        )
    found = _format_of(head)
    if found is None:
        raise PictureRefused(f"{_stranger(head)} {TAKEN}")
    if _moves(found, head):
        raise PictureRefused(
            "This picture moves; the board takes still pictures only. "
            "Save the one frame that is meant and send that."
        )
    _agree(found, filename)
    return found


def _format_of(head: bytes) -> str | None:
    for pattern, name in SIGNATURES:
        if re.match(pattern, head, re.DOTALL):
            return name
    if head[4:8] == b"ftyp":
        brands = _brands(head)
        if brands & (HEIC_BRANDS | MOVING_BRANDS) and head[8:12] != b"avif":
            return "HEIC"
    return None


def _brands(head: bytes) -> set[bytes]:
    size = min(int.from_bytes(head[:4], "big"), 256, len(head))
    return {head[8:12], *(head[at : at + 4] for at in range(16, size - 3, 4))}


def _stranger(head: bytes) -> str:
    for pattern, words in STRANGERS:
        if re.match(pattern, head, re.DOTALL):
            return words
    if b"<svg" in head[:1024].lower():
        return "This is an SVG drawing."
    return "This is not a picture the board knows."


def _moves(found: str, head: bytes) -> bool:
    """Tell a film by its header: APNG, animated WebP, an image sequence in HEIF."""
    if found == "PNG":
        return _has_chunk(head, b"acTL")
    if found == "WEBP":
        return head[12:16] == b"VP8X" and len(head) > 20 and bool(head[20] & 0x02)
    return found == "HEIC" and head[8:12] in MOVING_BRANDS


def _has_chunk(head: bytes, wanted: bytes) -> bool:
    at = 8
    while at + 8 <= len(head):
        kind = head[at + 4 : at + 8]
        if kind == wanted:
            return True
        if kind == b"IDAT":
            return False
        at += 12 + int.from_bytes(head[at : at + 4], "big")
    return False


def _agree(found: str, filename: str) -> None:
    extension = PurePath(filename).suffix.lstrip(".").lower()
    if extension in EXTENSIONS[found]:
        return
    named = f"is named .{extension}" if extension else "has no extension in its name"
    right = sorted(EXTENSIONS[found])[-1]
    raise PictureRefused(
        f"The file {named}, but inside it is a {found} picture. "
        f"Rename it to end in .{right} if that is right, or export it again."
    )
