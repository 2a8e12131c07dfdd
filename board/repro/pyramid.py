"""The stored form of a laid picture: one tiled JPEG TIFF with its halved copies.

Written strip by strip from the top, so that only a few strips are ever in memory. Each
tile is a whole JPEG (YCbCr, no colour subsampling) that a browser can show as it is.

References
----------
TIFF Revision 6.0, section 15 (tiles) and 22 (YCbCr); TIFF Technical Note 2, JPEG
compression 7, which lets every tile carry its own tables.
"""

import struct
from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import cv2
import numpy as np

from board.repro.intake import Pixels

TILE = 512
QUALITY = 90
JPEG = (
    cv2.IMWRITE_JPEG_QUALITY,
    QUALITY,
    cv2.IMWRITE_JPEG_SAMPLING_FACTOR,
    cv2.IMWRITE_JPEG_SAMPLING_FACTOR_444,
)
SHORT, LONG, RATIONAL = 3, 4, 5
Field = tuple[int, int, tuple[int, ...]]


def level_sizes(width: int, height: int) -> list[tuple[int, int]]:
    """Give (width, height) from the full size down to the first that is one tile."""
    sizes = [(width, height)]
    while max(sizes[-1]) > TILE:
        sizes.append(((sizes[-1][0] + 1) // 2, (sizes[-1][1] + 1) // 2))
    return sizes


class Level:
    """One size of the picture while it is written: rows that wait, tiles that lie."""

    def __init__(self, width: int, height: int, *, kept: bool) -> None:
        self.width, self.height = width, height
        self.columns = -(-width // TILE)
        self.waiting = np.empty((min(TILE, height), width, 3), np.uint8)
        self.filled = self.done = 0
        self.offsets: list[int] = []
        self.lengths: list[int] = []
        self.kept = np.empty((height, width, 3), np.uint8) if kept else None


class PyramidWriter:
    """Takes the rows of a picture in order and writes its pyramid."""

    def __init__(
        self, file: BinaryIO, pool: Executor, size: tuple[int, int], kept: int
    ) -> None:
        """Begin; the smallest level with a side of at least `kept` stays in memory."""
        self._file, self._pool = file, pool
        sizes = level_sizes(*size)
        enough = [at for at, level in enumerate(sizes) if max(level) >= kept]
        self._keep = enough[-1] if enough else 0
        self.levels = [
            Level(*level, kept=at == self._keep) for at, level in enumerate(sizes)
        ]
        file.write(b"II*\0" + bytes(4))

    @property
    def kept(self) -> Pixels:
        """The level that was kept: uint8 (rows, columns, 3)."""
        picture = self.levels[self._keep].kept
        if picture is None:
            raise ValueError("no level was kept")
        return picture

    def add(self, rows: Pixels) -> None:
        """Append rows of the full width; any number at a time."""
        self._add(0, rows)

    def _add(self, at: int, rows: Pixels) -> None:
        level = self.levels[at]
        while len(rows):
            take = min(len(level.waiting) - level.filled, len(rows))
            level.waiting[level.filled : level.filled + take] = rows[:take]
            level.filled += take
            rows = rows[take:]
            left = level.height - level.done
            if level.filled == min(TILE, left):
                self._flush(at, level.waiting[: level.filled])

    def _flush(self, at: int, strip: Pixels) -> None:
        level = self.levels[at]
        if level.kept is not None:
            level.kept[level.done : level.done + len(strip)] = strip
        for body in self._pool.map(_encode, _tiles(strip)):
            level.offsets.append(self._file.tell())
            level.lengths.append(len(body))
            self._file.write(body + b"\0" * (len(body) % 2))
        level.done += len(strip)
        level.filled = 0
        if at + 1 < len(self.levels):
            self._add(at + 1, halved(strip))

    def finish(self, ppi: float) -> None:
        """Write the directories; the file is a TIFF from now on."""
        link = 4
        for at, level in enumerate(self.levels):
            start = self._file.seek(0, 2)
            self._file.seek(link)
            self._file.write(struct.pack("<I", start))
            self._file.seek(start)
            link = self._directory(_fields(level, ppi / 2**at, reduced=at > 0))

    def _directory(self, fields: list[Field]) -> int:
        """Write one directory; gives where the address of the next one goes."""
        start = self._file.tell()
        after = start + 2 + 12 * len(fields) + 4
        entries, bodies = b"", b""
        for tag, kind, values in fields:
            body = struct.pack(
                f"<{len(values)}{'H' if kind == SHORT else 'I'}", *values
            )
            many = len(values) // 2 if kind == RATIONAL else len(values)
            if len(body) > 4:
                place = struct.pack("<I", after + len(bodies))
                bodies += body + b"\0" * (len(body) % 2)
            else:
                place = body.ljust(4, b"\0")
            entries += struct.pack("<HHI", tag, kind, many) + place
        self._file.write(struct.pack("<H", len(fields)) + entries + bytes(4) + bodies)
        return after - 4


def _fields(level: Level, ppi: float, *, reduced: bool) -> list[Field]:
    dots = (max(1, round(ppi * 100)), 100)
    return [
        (254, LONG, (int(reduced),)),  # NewSubfileType
        (256, LONG, (level.width,)),
        (257, LONG, (level.height,)),
        (258, SHORT, (8, 8, 8)),  # BitsPerSample
        (259, SHORT, (7,)),  # Compression: JPEG
        (262, SHORT, (6,)),  # Photometric: YCbCr
        (277, SHORT, (3,)),  # SamplesPerPixel
        (282, RATIONAL, dots),
        (283, RATIONAL, dots),
        (284, SHORT, (1,)),  # PlanarConfiguration
        (296, SHORT, (2,)),  # ResolutionUnit: inch
        (322, LONG, (TILE,)),
        (323, LONG, (TILE,)),
        (324, LONG, tuple(level.offsets)),
        (325, LONG, tuple(level.lengths)),
        (530, SHORT, (1, 1)),  # YCbCrSubSampling: none
    ]


def _tiles(strip: Pixels) -> Iterator[Pixels]:
    """Cut a strip of up to `TILE` rows into tiles, the last ones padded by repeating."""
    rows, width = strip.shape[:2]
    for left in range(0, width, TILE):
        tile = strip[:, left : left + TILE]
        down, right = TILE - rows, TILE - tile.shape[1]
        if down or right:
            tile = np.pad(tile, ((0, down), (0, right), (0, 0)), mode="edge")
        yield tile


def _encode(tile: Pixels) -> bytes:
    done, body = cv2.imencode(".jpg", cv2.cvtColor(tile, cv2.COLOR_RGB2BGR), JPEG)
    if not done:
        raise ValueError("a tile could not be encoded")
    return bytes(body)


def halved(rows: Pixels) -> Pixels:
    """Average every 2 x 2 pixels; an odd last row or column counts twice."""
    height, width = rows.shape[:2]
    if height % 2 or width % 2:
        rows = np.pad(rows, ((0, height % 2), (0, width % 2), (0, 0)), mode="edge")
    size = (rows.shape[1] // 2, rows.shape[0] // 2)
    out = cv2.resize(rows, size, interpolation=cv2.INTER_AREA)
    return np.asarray(out, dtype=np.uint8)


@contextmanager
def pyramid(
    path: Path, size: tuple[int, int], *, ppi: float, kept: int
) -> Iterator[PyramidWriter]:
    """Lend a writer for a picture of (width, height); the TIFF is whole on leaving.

    Parameters
    ----------
    path : the new file.
    size : width and height in pixels.
    ppi : pixels per inch on the sheet, written into the file.
    kept : the longest side the kept level must have at least (or the full size).
    """
    with path.open("wb") as file, ThreadPoolExecutor(2) as pool:
        writer = PyramidWriter(file, pool, size, kept)
        yield writer
        writer.finish(ppi)
