"""Pictures as they are sent: looked over, then developed into one plain form.

A developed picture is a libvips `.v` file: 64 bytes of header, then 8-bit sRGB pixels
row by row, upright, flattened on white and without any metadata. Both libvips and
numpy read it straight from the disk, so an 87-megapixel picture need not fit in memory.
"""

import mmap
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from board.errors import NotFound, PictureRefused
from board.repro import loading

Pixels = npt.NDArray[np.uint8]
V_HEADER = 64
V_MAGIC = b"\xb6\xa6\xf2\x08"  # little-endian, as on every machine we meet


@dataclass(frozen=True)
class Examined:
    """What a file's headers say; sizes in pixels as seen upright."""

    format: str
    width: int
    height: int
    mode: str
    bits: int
    has_profile: bool
    orientation: int

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


@dataclass(frozen=True)
class Developed:
    """A developed picture: its file and its size in pixels; `noted` is for people."""

    path: str
    width: int
    height: int
    noted: tuple[str, ...] = ()


def examine(path: Path, filename: str, *, max_bytes: int, max_pixels: int) -> Examined:
    """Read the headers of a picture without decoding it.

    Parameters
    ----------
    path : the file.
    filename : the name it was sent under.
    max_bytes, max_pixels : what the board takes in.

    Raises
    ------
    PictureRefused, TooLarge
        with a sentence for the person who sent it.
    """
    found = loading.look_over(path, filename, max_bytes=max_bytes)
    loading.require_size(found.width, found.height, max_pixels=max_pixels)
    turned = found.orientation >= 5
    return Examined(
        format=found.format,
        width=found.height if turned else found.width,
        height=found.width if turned else found.height,
        mode=found.mode,
        bits=found.bits,
        has_profile=found.has_profile,
        orientation=found.orientation,
    )


def developed_pixels(path: Path) -> Pixels:
    """Open a developed picture without reading it.

    Returns
    -------
    read-only uint8 array of shape (rows, columns, 3), sRGB, mapped from the disk.

    Raises
    ------
    PictureRefused
        when the file is not a developed picture or has been cut short.
    """
    with path.open("rb") as file:
        head = file.read(V_HEADER)
    size = path.stat().st_size
    width, height, bands = (
        int.from_bytes(head[at : at + 4], "little") for at in (4, 8, 12)
    )
    if len(head) < V_HEADER or head[:4] != V_MAGIC or bands != 3:
        raise PictureRefused(f"{path.name} is not a developed picture.")
    if size < V_HEADER + 3 * width * height:
        raise PictureRefused(f"{path.name} was cut short. Prepare the picture again.")
    return np.memmap(
        path, dtype=np.uint8, mode="r", offset=V_HEADER, shape=(height, width, 3)
    )


def let_go(pixels: Pixels) -> None:
    """Give back the memory that read parts of a developed picture hold.

    Nothing is lost: what is looked at again comes from the disk or its cache.
    """
    mapped = getattr(pixels, "_mmap", None)
    if isinstance(mapped, mmap.mmap):
        mapped.madvise(mmap.MADV_DONTNEED)


def working_copy(path: Path, longest: int = 2000) -> Pixels:
    """Give a developed picture reduced for measuring; smaller ones stay as they are.

    Places are counted from the outer corner of the top left pixel, so (x, y) on the
    copy is (x * width / copy width, y * height / copy height) on the picture, without
    any half-pixel shift.

    Returns
    -------
    uint8 array of shape (rows, columns, 3), sRGB; rows, columns <= `longest`.
    """
    return reduced(developed_pixels(path), longest)


def reduced(pixels: Pixels, longest: int) -> Pixels:
    """Reduce by area until the longest side fits; never enlarge."""
    height, width = pixels.shape[:2]
    scale = longest / max(height, width)
    if scale >= 1:
        return np.array(pixels)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    out = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return np.asarray(out, dtype=np.uint8)


def working_copy_of(path: Path) -> Pixels:
    """Read a lossless working copy: uint8 (rows, columns, 3), sRGB.

    Raises
    ------
    NotFound
        when it is gone.
    """
    pixels = cv2.imread(str(path), cv2.IMREAD_COLOR)
    if pixels is None:
        raise NotFound("The laid picture is not on the disk any more.")
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_BGR2RGB), dtype=np.uint8)
