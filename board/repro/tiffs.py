"""The bare bones of a TIFF file: its directories, read without decoding a pixel.

References
----------
TIFF Revision 6.0 (Adobe, 1992), sections 2 and 8; BigTIFF as in the libtiff design.
"""

import struct
from pathlib import Path
from typing import BinaryIO

from board.errors import PictureRefused

Values = tuple[int, ...]
Directory = dict[int, Values]

NEW_SUBFILE_TYPE, IMAGE_WIDTH, IMAGE_LENGTH = 254, 256, 257
EXTRA_SAMPLES, TILE_OFFSETS, TILE_BYTE_COUNTS = 338, 324, 325
TILE_WIDTH, JPEG_TABLES, COMPRESSION = 322, 347, 259

STRIP_OFFSETS, STRIP_BYTE_COUNTS = 273, 279
LAYOUT = frozenset(
    {
        NEW_SUBFILE_TYPE,
        EXTRA_SAMPLES,
        STRIP_OFFSETS,
        STRIP_BYTE_COUNTS,
        TILE_OFFSETS,
        TILE_BYTE_COUNTS,
    }
)
"""The fields that say where the pixels lie and what kind of page it is."""

MOST_DIRECTORIES = 64
MOST_VALUES = 1 << 22
# Field types whose values are whole numbers: bytes, shorts, longs, undefined, long8s.
WHOLE = {1: "B", 3: "H", 4: "I", 7: "B", 13: "I", 16: "Q", 18: "Q"}
SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8,
         13: 4, 16: 8, 17: 8, 18: 8}  # fmt: skip


def directories(path: Path, wanted: frozenset[int]) -> list[Directory]:
    """Read the chosen whole-number fields of every page.

    Parameters
    ----------
    path : a TIFF or BigTIFF file, either byte order.
    wanted : tag numbers.

    Returns
    -------
    One mapping from tag to values a page, in the order of the file.

    Raises
    ------
    PictureRefused
        when the structure is broken, loops or points beyond the end.
    """
    with path.open("rb") as file:
        try:
            return _read(file, wanted)
        except (struct.error, OverflowError, ValueError, OSError) as cause:
            raise PictureRefused(
                "The TIFF file is damaged: its list of pages cannot be read. "
                "Save a new copy and send that."
            ) from cause


def end_of(page: Directory) -> int:
    """Give where a page's last strip or tile ends, in bytes from the file's begin."""
    ends = [0]
    for offsets, counts in (
        (STRIP_OFFSETS, STRIP_BYTE_COUNTS),
        (TILE_OFFSETS, TILE_BYTE_COUNTS),
    ):
        pairs = zip(page.get(offsets, ()), page.get(counts, ()), strict=False)
        ends.extend(offset + count for offset, count in pairs)
    return max(ends)


def _read(file: BinaryIO, wanted: frozenset[int]) -> list[Directory]:
    head = file.read(16)
    order = (
        {b"II": "<", b"MM": ">"}[bytes(head[:2])] if head[:2] in {b"II", b"MM"} else ""
    )
    if not order:
        raise ValueError("no byte order")
    big = struct.unpack(order + "H", head[2:4])[0] == 43
    at = struct.unpack(order + ("Q" if big else "I"), head[8:16] if big else head[4:8])[
        0
    ]
    pages: list[Directory] = []
    seen: set[int] = set()
    while at:
        if at in seen or len(pages) >= MOST_DIRECTORIES:
            raise ValueError("pages loop")
        seen.add(at)
        page, at = _directory(file, at, order, wanted, big=big)
        pages.append(page)
    return pages


def _directory(
    file: BinaryIO, at: int, order: str, wanted: frozenset[int], *, big: bool
) -> tuple[Directory, int]:
    file.seek(at)
    count_code, entry_code, pointer = ("Q", "HHQ", "Q") if big else ("H", "HHI", "I")
    (count,) = _unpack(file, order + count_code)
    if count > 4096:
        raise ValueError("too many fields")
    width = struct.calcsize(order + entry_code)
    room = struct.calcsize(order + pointer)
    table = _exactly(file, count * (width + room))
    (following,) = _unpack(file, order + pointer)
    page: Directory = {}
    for start in range(0, len(table), width + room):
        tag, kind, many = struct.unpack_from(order + entry_code, table, start)
        if tag in wanted and kind in WHOLE:
            inline = table[start + width : start + width + room]
            page[tag] = _values(file, order, (kind, many), inline)
    return page, int(following)


def _values(
    file: BinaryIO, order: str, field: tuple[int, int], inline: bytes
) -> Values:
    kind, many = field
    if many > MOST_VALUES:
        raise ValueError("too many values")
    length = SIZES[kind] * many
    if length > len(inline):
        pointer = "Q" if len(inline) == 8 else "I"
        file.seek(struct.unpack(order + pointer, inline)[0])
        inline = _exactly(file, length)
    return struct.unpack(f"{order}{many}{WHOLE[kind]}", inline[:length])


def _unpack(file: BinaryIO, code: str) -> Values:
    return struct.unpack(code, _exactly(file, struct.calcsize(code)))


def _exactly(file: BinaryIO, length: int) -> bytes:
    read = file.read(length)
    if len(read) != length:
        raise ValueError("breaks off")
    return read
