"""Tiles as they are stored: indexed once by offset, then read straight from the file.

Level 0 is the smallest and the last level the full picture, as deep-zoom viewers count.
Tiles on the right and lower edge are stored full size, padded by repeating the last
column and row; who shows them clips them to the level's size.
"""

import os
import struct
from dataclasses import dataclass
from pathlib import Path

from board.errors import NotFound, PictureRefused
from board.repro import tiffs

MAGIC = b"SLTI\x01\0\0\0"
WANTED = frozenset(
    {
        tiffs.NEW_SUBFILE_TYPE,
        tiffs.IMAGE_WIDTH,
        tiffs.IMAGE_LENGTH,
        tiffs.COMPRESSION,
        tiffs.TILE_WIDTH,
        tiffs.TILE_OFFSETS,
        tiffs.TILE_BYTE_COUNTS,
        tiffs.JPEG_TABLES,
    }
)


@dataclass(frozen=True)
class LevelIndex:
    """One level: its size in pixels, its grid, and where each tile lies."""

    width: int
    height: int
    columns: int
    rows: int
    places: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class TileIndex:
    """Where every tile of a pyramid lies: (offset, length) in bytes."""

    tile: int
    levels: tuple[LevelIndex, ...]

    @classmethod
    def of(cls, path: Path) -> "TileIndex":
        """Read the index from a tiled JPEG TIFF whose tiles are whole JPEGs.

        Raises
        ------
        PictureRefused
            when the file is no such TIFF.
        """
        pages = tiffs.directories(path, WANTED)
        if not pages or any(_unfit(page) for page in pages):
            raise PictureRefused(f"{path.name} is not a pyramid of whole JPEG tiles.")
        levels = tuple(_level(page) for page in reversed(pages))
        return cls(pages[0][tiffs.TILE_WIDTH][0], levels)

    def save(self, path: Path) -> None:
        parts = [MAGIC, struct.pack("<II", self.tile, len(self.levels))]
        for level in self.levels:
            parts.append(struct.pack("<II", level.width, level.height))
            parts.extend(struct.pack("<QI", *place) for place in level.places)
        path.write_bytes(b"".join(parts))

    @classmethod
    def load(cls, path: Path) -> "TileIndex":
        """Read an index that `save` wrote; PictureRefused when it is damaged."""
        body = path.read_bytes()
        try:
            return cls._parse(body)
        except (struct.error, ZeroDivisionError) as cause:
            raise PictureRefused(f"{path.name} is damaged.") from cause

    @classmethod
    def _parse(cls, body: bytes) -> "TileIndex":
        if body[:8] != MAGIC:
            raise struct.error("not an index")
        tile, many = struct.unpack_from("<II", body, 8)
        at, levels = 16, []
        for _ in range(many):
            width, height = struct.unpack_from("<II", body, at)
            columns, rows = -(-width // tile), -(-height // tile)
            end = at + 8 + 12 * columns * rows
            if end > len(body):
                raise struct.error("breaks off")
            places = tuple(struct.iter_unpack("<QI", body[at + 8 : end]))
            levels.append(LevelIndex(width, height, columns, rows, places))
            at = end
        return cls(tile, tuple(levels))

    def describe(self) -> dict[str, int]:
        """Give what a deep-zoom viewer asks for: width, height, tile, levels."""
        full = self.levels[-1]
        return {
            "width": full.width,
            "height": full.height,
            "tile": self.tile,
            "levels": len(self.levels),
        }

    def place(self, level: int, column: int, row: int) -> tuple[int, int]:
        """Give (offset, length) of a tile; NotFound where there is none."""
        if not 0 <= level < len(self.levels):
            raise NotFound
        grid = self.levels[level]
        if not (0 <= column < grid.columns and 0 <= row < grid.rows):
            raise NotFound
        return grid.places[row * grid.columns + column]


def tile(handle: int, index: TileIndex, level: int, *, column: int, row: int) -> bytes:
    """Read one tile, a whole JPEG, from an open file.

    Parameters
    ----------
    handle : file descriptor of the pyramid, opened for reading.
    """
    offset, length = index.place(level, column, row)
    return os.pread(handle, length, offset)


def _unfit(page: tiffs.Directory) -> bool:
    return (
        page.get(tiffs.COMPRESSION) != (7,)
        or tiffs.JPEG_TABLES in page
        or not {tiffs.TILE_WIDTH, tiffs.TILE_OFFSETS, tiffs.TILE_BYTE_COUNTS}
        <= set(page)
    )


def _level(page: tiffs.Directory) -> LevelIndex:
    (width,), (height,) = page[tiffs.IMAGE_WIDTH], page[tiffs.IMAGE_LENGTH]
    (side,) = page[tiffs.TILE_WIDTH]
    pairs = zip(page[tiffs.TILE_OFFSETS], page[tiffs.TILE_BYTE_COUNTS], strict=True)
    return LevelIndex(
        width, height, -(-width // side), -(-height // side), tuple(pairs)
    )
